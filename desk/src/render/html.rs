//! A page as one self-contained HTML file: no script, nothing from elsewhere,
//! every text escaped. Charts are inline SVG.

use chalkface_core::chart::{Theme, escape, to_svg};
use chalkface_core::screen::{Basis, Block, Page, Row};

use super::markup;

const STYLE: &str = include_str!("page.css");

/// Width of a drawing's millimetre where there is room: a label of 3 mm is 18 pixels.
const REM_A_MM: f64 = 0.378;

/// The page as a whole HTML file.
pub fn page(page: &Page) -> String {
    whole(page, "page")
}

/// A page made for one screen of a phone, as a whole HTML file.
pub fn card(page: &Page) -> String {
    whole(page, "card")
}

fn whole(page: &Page, form: &str) -> String {
    let mut body = String::new();
    for block in &page.blocks {
        body.push_str(&draw(block));
        body.push('\n');
    }
    // The policy forbids scripts, frames and every request: a text that were
    // not escaped could still do nothing.
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body class=\"{form}\">\n<main>\n\
         <header>\n<h1>{title}</h1>\n<p>{subtitle}</p>\n</header>\n{body}</main>\n</body>\n</html>\n",
        title = escape(&page.title),
        subtitle = escape(&page.subtitle),
    )
}

/// One block.
pub fn draw(block: &Block) -> String {
    match block {
        Block::Heading { text, .. } => format!("<h2>{}</h2>", escape(text)),
        Block::Text { text, basis, .. } => {
            format!("<p class=\"{}\">{}{}</p>", basis.word(), escape(text), tag(*basis))
        }
        Block::Table { alt, columns, rows, .. } => table(alt, columns, rows),
        // So wide at most that labels are as large as the text beside them.
        Block::Chart { scene, .. } => format!(
            "<figure><div style=\"max-width:{:.1}rem\">{}</div></figure>",
            REM_A_MM * scene.width_mm,
            to_svg(scene, Theme::Light)
        ),
        Block::Items { items, .. } => list("ul", items),
        Block::Steps { items, .. } => list("ol", items),
        Block::Markup { text, .. } => markup::html(text),
        Block::Caution { text, .. } => {
            format!("<p class=\"caution\"><strong>Mind:</strong> {}</p>", escape(text))
        }
    }
}

fn list(tag: &str, items: &[String]) -> String {
    let items: String = items.iter().map(|item| format!("<li>{}</li>", escape(item))).collect();
    format!("<{tag}>{items}</{tag}>")
}

/// The word for what is not plainly measured.
fn tag(basis: Basis) -> String {
    match basis {
        Basis::Measured => String::new(),
        basis => format!(" <span class=\"basis\">{}</span>", basis.word()),
    }
}

fn table(alt: &str, columns: &[String], rows: &[Row]) -> String {
    let head: String = columns.iter().map(|c| format!("<th scope=\"col\">{}</th>", escape(c))).collect();
    let body: String = rows
        .iter()
        .map(|row| {
            let cells: String = row.cells.iter().map(|cell| format!("<td>{}</td>", escape(cell))).collect();
            format!("<tr><th scope=\"row\">{}{}</th>{cells}</tr>", escape(&row.name), tag(row.basis))
        })
        .collect();
    // What may scroll must be reached without a mouse, too.
    format!(
        "<div class=\"wide\" role=\"group\" aria-label=\"{0}\" tabindex=\"0\"><table><caption>{0}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>",
        escape(alt)
    )
}
