//! CommonMark that somebody wrote, as HTML that is ours alone.
//!
//! The rule: only the tags below are ever written, none with an attribute. Raw HTML is
//! shown as the text that it is; of links and pictures their text stays. Start at [`html`].

use chalkface_core::chart::escape;
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

/// The text as HTML.
pub fn html(text: &str) -> String {
    let mut out = String::from("<div class=\"own\">");
    for event in Parser::new_ext(text, Options::empty()) {
        match event {
            Event::Start(tag) => out.push_str(&opening(&tag)),
            Event::End(tag) => out.push_str(&closing(tag)),
            Event::Text(text) | Event::Html(text) | Event::InlineHtml(text) => out.push_str(&escape(&text)),
            Event::Code(text) => out.push_str(&format!("<code>{}</code>", escape(&text))),
            Event::SoftBreak => out.push('\n'),
            Event::HardBreak => out.push_str("<br>"),
            Event::Rule => out.push_str("<hr>"),
            // Extensions that are not asked for.
            Event::InlineMath(text) | Event::DisplayMath(text) | Event::FootnoteReference(text) => {
                out.push_str(&escape(&text));
            }
            Event::TaskListMarker(_) => {}
        }
    }
    out.push_str("</div>");
    out
}

fn opening(tag: &Tag<'_>) -> String {
    name(tag.to_end()).map_or_else(String::new, |name| format!("<{name}>"))
}

fn closing(tag: TagEnd) -> String {
    name(tag).map_or_else(String::new, |name| format!("</{name}>"))
}

/// The element that a tag becomes; the page's own headings stay above.
fn name(tag: TagEnd) -> Option<&'static str> {
    Some(match tag {
        TagEnd::Paragraph | TagEnd::HtmlBlock => "p",
        TagEnd::Heading(_) => "h3",
        TagEnd::BlockQuote(_) => "blockquote",
        TagEnd::CodeBlock => "pre",
        TagEnd::List(true) => "ol",
        TagEnd::List(false) => "ul",
        TagEnd::Item => "li",
        TagEnd::Emphasis => "em",
        TagEnd::Strong => "strong",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_and_emphasis_are_drawn() {
        let found = html("# How\n\n1. *Slowly* now\n2. **Hold**\n\n> wait");
        assert!(
            found.contains("<h3>How</h3>") && found.contains("<ol><li><em>Slowly</em> now</li>"),
            "{found}"
        );
        assert!(
            found.contains("<strong>Hold</strong>") && found.contains("<blockquote><p>wait</p></blockquote>")
        );
    }

    #[test]
    fn nothing_of_anybodys_own_markup_passes() {
        let hostile = [
            "<script>alert(1)</script>",
            "a <img src=x onerror=alert(1)> b",
            "[click](javascript:alert(1)) ![x](http://elsewhere/x.png)",
            "<div\nonclick='x'>\n\n</div>",
            "```\" onload=\"x\n<b>\n```",
            "<a href=\"data:text/html,x\">y</a>",
            "&lt;script&gt; &#60;b&#62;",
        ];
        let ours = [
            "div class=\"own\"",
            "/div",
            "p",
            "/p",
            "h3",
            "/h3",
            "ol",
            "/ol",
            "ul",
            "/ul",
            "li",
            "/li",
            "em",
            "/em",
            "strong",
            "/strong",
            "pre",
            "/pre",
            "code",
            "/code",
            "blockquote",
            "/blockquote",
            "br",
            "hr",
        ];
        for text in hostile {
            let found = html(text);
            for tag in found.split('<').skip(1) {
                let inner = tag.split('>').next().unwrap();
                assert!(ours.contains(&inner), "{text:?} let <{inner}> pass: {found}");
            }
        }
        assert!(html(hostile[2]).contains("click"));
    }
}
