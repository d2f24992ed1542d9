//! CommonMark that somebody wrote, as plain blocks for paper, terminal and phone.
//!
//! The rule: what comes out is lists and paragraphs of text; no tag, link or picture of
//! theirs is more than its text. Start at [`plain`].

use std::borrow::Cow;

use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

use super::block::{Basis, Block};

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
}
