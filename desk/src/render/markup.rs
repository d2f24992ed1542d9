//! CommonMark that somebody wrote, as HTML that is ours alone, or as plain blocks for paper
//! and terminal.
//!
//! The rule: only the tags below are ever written, none with an attribute. Raw HTML is
//! shown as the text that it is; of links and pictures their text stays. Start at [`html`]
//! and [`plain`].

use std::borrow::Cow;

use chalkface_core::chart::escape;
use chalkface_core::screen::{Basis, Block};
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

/// The blocks with every text of CommonMark as lists and paragraphs.
pub fn plain(blocks: &[Block]) -> Cow<'_, [Block]> {
    if !blocks.iter().any(|block| matches!(block, Block::Markup { .. })) {
        return Cow::Borrowed(blocks);
    }
    let all = blocks.iter().flat_map(|block| match block {
        Block::Markup { key, text } => Plain::of(key, text),
        other => vec![other.clone()],
    });
    Cow::Owned(all.collect())
}

/// A text on its way to plain blocks.
struct Plain<'a> {
    key: &'a str,
    blocks: Vec<Block>,
    /// What is being read.
    line: String,
    /// Lists that are open, the outermost first: whether they are numbered, and their next number.
    lists: Vec<Option<u64>>,
    /// Lines of the outermost list.
    items: Vec<String>,
}

impl<'a> Plain<'a> {
    fn of(key: &'a str, text: &str) -> Vec<Block> {
        let mut plain =
            Self { key, blocks: Vec::new(), line: String::new(), lists: Vec::new(), items: Vec::new() };
        for event in Parser::new_ext(text, Options::empty()) {
            plain.take(event);
        }
        plain.end_line();
        plain.blocks
    }

    fn take(&mut self, event: Event<'_>) {
        match event {
            Event::Start(Tag::List(first)) => {
                self.end_line();
                self.lists.push(first);
            }
            Event::End(TagEnd::List(_)) => {
                self.end_line();
                let numbered = self.lists.pop().flatten();
                if self.lists.is_empty() {
                    self.end_list(numbered.is_some());
                }
            }
            Event::Text(text)
            | Event::Html(text)
            | Event::InlineHtml(text)
            | Event::Code(text)
            | Event::InlineMath(text)
            | Event::DisplayMath(text)
            | Event::FootnoteReference(text) => self.line.push_str(&text),
            Event::SoftBreak => self.line.push(' '),
            Event::HardBreak => self.line.push('\n'),
            Event::End(
                TagEnd::Paragraph | TagEnd::Heading(_) | TagEnd::HtmlBlock | TagEnd::CodeBlock | TagEnd::Item,
            )
            | Event::Rule => self.end_line(),
            _ => {}
        }
    }

    /// The line becomes a paragraph, or a line of the list that is open.
    fn end_line(&mut self) {
        let line = std::mem::take(&mut self.line);
        let text = line.trim();
        if text.is_empty() {
            return;
        }
        match self.lists.len() {
            0 => {
                let key = self.next_key();
                self.blocks.push(Block::Text { key, basis: Basis::Measured, text: text.into() });
            }
            1 => self.items.push(text.into()),
            // Of lists within lists one line each, told apart by a dash.
            _ => self.items.push(format!("– {text}")),
        }
    }

    fn end_list(&mut self, numbered: bool) {
        let (key, items) = (self.next_key(), std::mem::take(&mut self.items));
        self.blocks.push(if numbered { Block::Steps { key, items } } else { Block::Items { key, items } });
    }

    fn next_key(&self) -> String {
        format!("{}.{}", self.key, self.blocks.len())
    }
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
    fn on_paper_lists_are_lists_and_signs_are_gone() {
        let text = "# How\n\nFirst *slowly*,\nthen **fast**.\n\n1. One <b>\n2. Two\n   - a\n   - b\n\n- x\n";
        let markup = Block::Markup { key: "k".into(), text: text.into() };
        let found = plain(std::slice::from_ref(&markup)).into_owned();
        let told: Vec<String> = found
            .iter()
            .map(|block| match block {
                Block::Text { text, .. } => text.clone(),
                Block::Steps { items, .. } => format!("1: {}", items.join("|")),
                Block::Items { items, .. } => format!("*: {}", items.join("|")),
                other => format!("{other:?}"),
            })
            .collect();
        assert_eq!(told, ["How", "First slowly, then fast.", "1: One <b>|Two|– a|– b", "*: x"]);
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
