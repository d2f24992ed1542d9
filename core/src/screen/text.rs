//! A page or a screen as plain text, wrapped to a width: for terminals, and for tests that
//! a person reads.
//!
//! Start at [`page`] and [`screen`].

use super::block::{Basis, Block, Page, Row};
use super::control::{Control, Look, PointLook};
use super::markup::plain;
use super::part::{Column, Screen, Tone, What};

/// Characters in a line where the terminal doesn't say.
pub const WIDTH: usize = 96;

/// The page as text of lines no wider than `width`, tables aside where a
/// word alone is wider.
pub fn page(page: &Page, width: usize) -> String {
    let mut out = String::new();
    line(&mut out, &page.title);
    line(&mut out, &"=".repeat(page.title.chars().count().min(width)));
    wrapped(&mut out, &page.subtitle, width, "", "");
    for part in plain(&page.blocks).iter() {
        block(&mut out, part, width);
    }
    out
}

fn block(out: &mut String, block: &Block, width: usize) {
    match block {
        Block::Heading { text, .. } => {
            out.push('\n');
            line(out, text);
            line(out, &"-".repeat(text.chars().count().min(width)));
        }
        Block::Text { text, basis, .. } => wrapped(out, &marked(*basis, text), width, "", ""),
        Block::Table { columns, rows, .. } => table(out, columns, rows, width),
        Block::Chart { scene, .. } => {
            wrapped(out, &format!("[{}] {}", scene.title, scene.alt), width, "", "  ");
        }
        Block::Items { items, .. } => {
            for item in items {
                wrapped(out, item, width, "* ", "  ");
            }
        }
        Block::Steps { items, .. } => {
            for (n, item) in items.iter().enumerate() {
                wrapped(out, item, width, &format!("{}. ", n + 1), "   ");
            }
        }
        Block::Markup { .. } => {
            for part in plain(std::slice::from_ref(block)).iter() {
                self::block(out, part, width);
            }
        }
        Block::Caution { text, .. } => {
            out.push('\n');
            wrapped(out, text, width, "! ", "  ");
        }
    }
}

/// The screen as text, with the key of what answers.
pub fn screen(screen: &Screen, width: usize) -> String {
    let mut out = String::new();
    if !screen.tabs.is_empty() {
        let tab = |tab: &super::part::Tab| {
            if tab.here { format!("[{}]", tab.name) } else { tab.name.clone() }
        };
        line(&mut out, &screen.tabs.iter().map(tab).collect::<Vec<_>>().join(" | "));
    }
    let back = screen.back.as_ref().map_or_else(String::new, |back| format!("< {back}   "));
    line(&mut out, &format!("{back}{}", screen.title));
    line(&mut out, &"=".repeat((back.chars().count() + screen.title.chars().count()).min(width)));
    wrapped(&mut out, &screen.subtitle, width, "", "");
    for notice in &screen.notices {
        let sign = if notice.tone == Tone::Done { "+ " } else { "!! " };
        wrapped(&mut out, &notice.text, width, sign, "   ");
    }
    if let Some(undo) = &screen.undo {
        line(&mut out, &format!("(( {undo} ))"));
    }
    if let Some(busy) = &screen.busy {
        line(&mut out, &format!("... {}", busy.text));
    }
    for column in [Column::Main, Column::Beside] {
        let mut parts = screen.parts.iter().filter(|part| part.column == column).peekable();
        if column == Column::Beside && parts.peek().is_some() {
            line(&mut out, &format!("\n{}", "~".repeat(width.min(24))));
        }
        for part in parts {
            match &part.what {
                What::Read(read) => block(&mut out, read, width),
                What::Do(operated) => control(&mut out, operated, width),
            }
        }
    }
    for effect in &screen.effects {
        line(&mut out, &format!("-> {:?}", effect.what));
    }
    if !screen.says.is_empty() {
        wrapped(&mut out, &screen.says, width, "said: ", "  ");
    }
    out
}

fn control(out: &mut String, control: &Control, width: usize) {
    let key = control.key();
    match control {
        Control::Action { name, look, hint, .. } => {
            let (open, close) = match look {
                Look::Main => ("[[ ", " ]]"),
                Look::Plain => ("[ ", " ]"),
                Look::Way => ("> ", ""),
                Look::Takes => ("[x ", " ]"),
            };
            line(out, &format!("{open}{name}{close}  {{{key}}}"));
            wrapped(out, hint, width, "    ", "    ");
        }
        Control::Choice { name, options, chosen, .. } => {
            let options: Vec<String> = options
                .iter()
                .map(|of| {
                    if Some(&of.key) == chosen.as_ref() {
                        format!("(*) {}", of.name)
                    } else {
                        format!("( ) {}", of.name)
                    }
                })
                .collect();
            wrapped(out, &format!("{name}: {}  {{{key}}}", options.join("  ")), width, "", "    ");
        }
        Control::Switch { name, on, hint, .. } => {
            line(out, &format!("[{}] {name}  {{{key}}}", if *on { "on" } else { "off" }));
            wrapped(out, hint, width, "    ", "    ");
        }
        Control::Field { name, text, unit, hint, problem, .. } => {
            line(out, &format!("{name}: |{text}| {unit} {{{key}}}"));
            wrapped(out, hint, width, "    ", "    ");
            wrapped(out, problem.as_deref().unwrap_or_default(), width, "    !! ", "    ");
        }
        Control::Amount { name, low, high, says, .. } => {
            line(out, &format!("{name}: {low} --- {says} --- {high}  {{{key}}}"));
        }
        Control::Touch { name, scene, says, places, .. } => {
            line(out, &format!("{name}: <{says}>  {{{key}}}"));
            wrapped(out, &format!("[{}] {}", scene.title, scene.alt), width, "    ", "    ");
            let places: Vec<&str> = places.iter().map(|place| place.name.as_str()).collect();
            wrapped(out, &format!("or: {}", places.join(", ")), width, "    ", "    ");
        }
        Control::Picture { name, picture, points, chosen, says, .. } => {
            line(out, &format!("{name}: <{says}>  {{{key}}}"));
            let [x, y, across, down] = picture.view_px;
            let all = format!("a picture of {} x {}", picture.width_px, picture.height_px);
            line(out, &format!("    [{all}, of which {across} x {down} from {x}, {y}]"));
            for point in points {
                let sign = match point.look {
                    PointLook::Handle => "[]",
                    PointLook::New => "(+)",
                    PointLook::Earlier => "( )",
                };
                let here = if chosen.as_ref() == Some(&point.key) { " <-" } else { "" };
                let at = format!("at {:.0}, {:.0}", point.x_px, point.y_px);
                wrapped(out, &format!("{sign} {}, {at}{here}", point.name), width, "    ", "        ");
            }
        }
        Control::Cells { name, columns, rows, says, .. } => {
            line(out, &format!("{name}: <{says}>  {{{key}}}"));
            let rows = format!("{} / {}", columns.join(", "), rows.join(", "));
            wrapped(out, &rows, width, "    ", "    ");
        }
        Control::Counter { name, says, .. } => line(out, &format!("(({says})) {name}  {{{key}}}")),
        Control::Clock { name, ends_ms, seconds, .. } => {
            line(out, &format!("{name}: {seconds} s, ends at {ends_ms} ms  {{{key}}}"));
        }
        Control::Rows { name, total, rows, empty, .. } => {
            line(out, &format!("{name} ({total})  {{{key}}}"));
            if rows.is_empty() {
                wrapped(out, empty, width, "    ", "    ");
            }
            for row in rows {
                let mut said = format!("- {}", row.name);
                for more in [&row.detail, &row.figure].into_iter().filter(|more| !more.is_empty()) {
                    said += &format!(" | {more}");
                }
                if !row.flag.is_empty() {
                    said += &format!(" | ({})", row.flag);
                }
                wrapped(out, &said, width, "  ", "      ");
            }
        }
    }
}

/// What is assumed says so; measured and inferred are told apart in tables.
fn marked(basis: Basis, text: &str) -> String {
    match basis {
        Basis::Assumed => format!("(assumed) {text}"),
        Basis::Measured | Basis::Inferred => text.to_owned(),
    }
}

fn line(out: &mut String, text: &str) {
    out.push_str(text);
    out.push('\n');
}

fn wrapped(out: &mut String, text: &str, width: usize, first: &str, rest: &str) {
    for (n, piece) in wrap(text, width.saturating_sub(first.chars().count())).iter().enumerate() {
        line(out, &format!("{}{piece}", if n == 0 { first } else { rest }));
    }
}

/// Lines of whole words, each at most `width` characters unless a word alone is wider.
fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in text.lines() {
        let mut current = String::new();
        for word in paragraph.split_whitespace() {
            if !current.is_empty() && current.chars().count() + 1 + word.chars().count() > width {
                lines.push(std::mem::take(&mut current));
            }
            if !current.is_empty() {
                current.push(' ');
            }
            current.push_str(word);
        }
        lines.push(current);
    }
    lines
}

fn table(out: &mut String, columns: &[String], rows: &[Row], width: usize) {
    const GAP: usize = 2;
    let name_of = |row: &Row| match row.basis {
        Basis::Measured => row.name.clone(),
        basis => format!("{} ({})", row.name, basis.word()),
    };
    let cells: Vec<Vec<String>> = std::iter::once(columns.to_vec())
        .chain(
            rows.iter().map(|row| std::iter::once(name_of(row)).chain(row.cells.iter().cloned()).collect()),
        )
        .collect();
    let count = columns.len().max(1);
    let first =
        cells.iter().filter_map(|row| row.first()).map(|c| c.chars().count()).max().unwrap_or(0).min(34);
    let other = (width.saturating_sub(first) / (count - 1).max(1)).saturating_sub(GAP).max(12);
    for (n, row) in cells.iter().enumerate() {
        let pieces: Vec<Vec<String>> = row
            .iter()
            .enumerate()
            .map(|(at, cell)| wrap(cell, if at == 0 { first } else { other }))
            .collect();
        for at in 0..pieces.iter().map(Vec::len).max().unwrap_or(0) {
            let mut text = String::new();
            for (column, lines) in pieces.iter().enumerate() {
                let cell = lines.get(at).map_or("", String::as_str);
                let wide = if column == 0 { first } else { other };
                text.push_str(cell);
                text.push_str(&" ".repeat(wide.saturating_sub(cell.chars().count()) + GAP));
            }
            line(out, text.trim_end());
        }
        if n == 0 {
            line(out, &"-".repeat((first + (other + GAP) * (count - 1)).min(width)));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words_and_only_there() {
        assert_eq!(wrap("one two three", 7), ["one two", "three"]);
        assert_eq!(wrap("unbreakable", 4), ["unbreakable"]);
    }

    #[test]
    fn a_table_keeps_its_columns_in_line() {
        let rows =
            [Row { name: "Miss".into(), basis: Basis::Inferred, cells: vec!["11 mm".into(), "9 mm".into()] }];
        let mut out = String::new();
        table(&mut out, &["What".into(), "Baseline".into(), "Now".into()], &rows, 60);
        let lines: Vec<&str> = out.lines().collect();
        assert!(lines[2].starts_with("Miss (inferred)"));
        assert_eq!(lines[0].find("Now"), lines[2].find("9 mm"));
    }
}
