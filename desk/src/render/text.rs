//! A page as terminal text: plain characters, wrapped to a width.

use chalkface_core::screen::{Basis, Block, Page, Row};

use super::markup;

/// Characters in a line where the terminal doesn't say.
pub const WIDTH: usize = 96;

/// The page as text of lines no wider than `width`, tables aside where a
/// word alone is wider.
pub fn page(page: &Page, width: usize) -> String {
    let mut out = String::new();
    line(&mut out, &page.title);
    line(&mut out, &"=".repeat(page.title.chars().count().min(width)));
    wrapped(&mut out, &page.subtitle, width, "", "");
    for block in markup::plain(&page.blocks).iter() {
        match block {
            Block::Heading { text, .. } => {
                out.push('\n');
                line(&mut out, text);
                line(&mut out, &"-".repeat(text.chars().count().min(width)));
            }
            Block::Text { text, basis, .. } => wrapped(&mut out, &marked(*basis, text), width, "", ""),
            Block::Table { columns, rows, .. } => table(&mut out, columns, rows, width),
            Block::Chart { scene, .. } => {
                wrapped(&mut out, &format!("[{}] {}", scene.title, scene.alt), width, "", "  ");
            }
            Block::Items { items, .. } => {
                for item in items {
                    wrapped(&mut out, item, width, "* ", "  ");
                }
            }
            Block::Steps { items, .. } => {
                for (n, item) in items.iter().enumerate() {
                    wrapped(&mut out, item, width, &format!("{}. ", n + 1), "   ");
                }
            }
            Block::Markup { text, .. } => wrapped(&mut out, text, width, "", ""),
            Block::Caution { text, .. } => {
                out.push('\n');
                wrapped(&mut out, text, width, "! ", "  ");
            }
        }
    }
    out
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
