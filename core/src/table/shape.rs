//! The shape of a file before its contents are looked at: text or not, which
//! separator, and whether it keeps within the bounds.
//!
//! What must hold: it walks the bytes once, keeps four bytes a row, and stops
//! at the first bound that is exceeded. Its idea of rows and cells is the
//! one of the `csv` crate; a property test holds the two together.

use super::problem::TableError;

/// A file has at most so many bytes: 64 MB.
pub const MOST_BYTES: usize = 64_000_000;
/// A file has at most so many rows below its header.
pub const MOST_ROWS: usize = 1_000_000;
/// A row has at most so many cells.
pub const MOST_COLUMNS: usize = 1_000;
/// A cell has at most so many characters.
pub const MOST_CELL_CHARS: usize = 4_000;

/// What a file's first bytes say it is, where it is no text.
const OTHER_FORMATS: [(&[u8], &str); 6] = [
    (b"PK\x03\x04", "a spreadsheet or zip file"),
    (b"PK\x05\x06", "an empty zip file"),
    (b"\xd0\xcf\x11\xe0", "a spreadsheet of the older kind"),
    (b"\x1f\x8b", "a compressed file"),
    (b"%PDF", "a PDF"),
    (b"SQLite format 3", "a database"),
];

/// The file as text, without a byte-order mark.
pub(super) fn text(bytes: &[u8]) -> Result<&str, TableError> {
    if bytes.len() > MOST_BYTES {
        return Err(TableError::TooLarge);
    }
    if let Some((_, what)) = OTHER_FORMATS.iter().find(|(magic, _)| bytes.starts_with(magic)) {
        return Err(TableError::OtherFormat { what });
    }
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return Err(TableError::Utf16);
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    if let Some(at) = bytes.iter().position(|b| *b == 0) {
        return Err(TableError::Nul { line: line_at(bytes, at) });
    }
    let text = std::str::from_utf8(bytes)
        .map_err(|bad| TableError::NotUtf8 { line: line_at(bytes, bad.valid_up_to()) })?;
    if text.trim().is_empty() { Err(TableError::Empty) } else { Ok(text) }
}

/// The number of the line on which the byte at `at` stands.
fn line_at(bytes: &[u8], at: usize) -> u64 {
    1 + bytes.iter().take(at).filter(|b| **b == b'\n').count() as u64
}

/// Separator and rows of a text.
#[derive(Debug)]
pub(super) struct Shape {
    /// What stands between cells.
    pub(super) separator: u8,
    /// The line on which each record begins, the header's first. Lines that
    /// are empty are no records.
    pub(super) lines: Vec<u32>,
}

/// Where the walk stands within a cell.
#[derive(Clone, Copy, PartialEq)]
enum In {
    /// Before a record's first character.
    Record,
    /// Before a cell's first character.
    Cell,
    /// In a cell without quotes, or after the quotes of one with them.
    Plain,
    /// Within quotes.
    Quotes,
    /// After a quotation mark within quotes: the end, or the first of two.
    Closing,
}

/// Walks the text once and holds it to the bounds.
pub(super) fn shape(text: &str) -> Result<Shape, TableError> {
    let separator = separator(text);
    let mut lines: Vec<u32> = Vec::new();
    let mut state = In::Record;
    // A file within its bound has fewer lines than a u32 counts.
    let (mut line, mut cell_line) = (1_u32, 1_u32);
    let (mut cells, mut chars) = (0_usize, 0_usize);
    let mut after_cr = false;
    for byte in text.bytes() {
        let ends_line = byte == b'\n' || byte == b'\r';
        if ends_line && state != In::Quotes {
            state = In::Record;
        } else {
            if state == In::Record {
                if lines.len() > MOST_ROWS {
                    return Err(TableError::TooManyRows);
                }
                lines.push(line);
                (state, cells, chars, cell_line) = (In::Cell, 1, 0, line);
            }
            match (state, byte) {
                (In::Cell, b'"') => state = In::Quotes,
                (In::Closing, b'"') => (state, chars) = (In::Quotes, chars + 1),
                (In::Quotes, b'"') => state = In::Closing,
                (In::Quotes, _) => chars += usize::from(begins_char(byte)),
                (_, b) if b == separator => {
                    (state, cells, chars, cell_line) = (In::Cell, cells + 1, 0, line);
                    if cells > MOST_COLUMNS {
                        return Err(TableError::TooManyColumns { line: u64::from(line) });
                    }
                }
                _ => (state, chars) = (In::Plain, chars + usize::from(begins_char(byte))),
            }
            if chars > MOST_CELL_CHARS {
                return Err(TableError::CellTooLong { line: u64::from(cell_line), column: cells });
            }
        }
        if ends_line && !(byte == b'\n' && after_cr) {
            line += 1;
        }
        after_cr = byte == b'\r';
    }
    if state == In::Quotes {
        return Err(TableError::OpenQuote { line: u64::from(cell_line) });
    }
    Ok(Shape { separator, lines })
}

/// Whether a byte of UTF-8 is the first of its character.
fn begins_char(byte: u8) -> bool {
    byte & 0xc0 != 0x80
}

/// The separator that stands most often in the header, outside quotes; a
/// comma where there is none.
fn separator(text: &str) -> u8 {
    let mut counts = [(b',', 0_u32), (b';', 0), (b'\t', 0)];
    let mut quoted = false;
    for byte in text.trim_start_matches(['\r', '\n']).bytes() {
        match byte {
            b'"' => quoted = !quoted,
            b'\n' | b'\r' if !quoted => break,
            _ if quoted => {}
            _ => {
                if let Some((_, count)) = counts.iter_mut().find(|(s, _)| *s == byte) {
                    *count += 1;
                }
            }
        }
    }
    // The first of equals: max_by_key takes the last, so go backwards.
    counts.iter().rev().max_by_key(|(_, count)| *count).map_or(b',', |(s, _)| *s)
}
