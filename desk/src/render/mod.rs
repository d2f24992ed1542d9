//! Pages drawn: as terminal text, as one self-contained HTML file, as a
//! picture or a printable sheet.
//!
//! The rule that must hold: a renderer adds nothing to what the blocks say,
//! and every text is escaped for where it goes.

pub mod html;
mod markup;

use std::path::Path;

use chalkface_core::chart::{Scene, Theme, to_svg};
pub use chalkface_core::screen::text;
use chalkface_core::screen::{Page, sheet};
use serde::Serialize;

use crate::error::DeskError;
use crate::output::to_json;
use crate::picture;

/// A file name's ending in small letters.
pub fn ending(path: &Path) -> String {
    path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default()
}

/// Writes a drawing as .svg, .png or .pdf.
///
/// # Errors
/// [`DeskError::Ending`] for another ending, or what drawing and system say.
pub fn write_scene(scene: &Scene, out: &Path) -> Result<(), DeskError> {
    let bytes = match ending(out).as_str() {
        "svg" => to_svg(scene, Theme::Light).into_bytes(),
        "png" => picture::to_png(scene, Theme::Light, PIXELS_PER_INCH)?,
        "pdf" => picture::to_pdf(scene, Theme::Print)?,
        _ => return Err(DeskError::Ending { path: out.to_owned(), allowed: ".svg, .png or .pdf" }),
    };
    write(out, &bytes)
}

/// Writes a page, or the value behind it, as the file's ending says.
///
/// # Errors
/// [`DeskError::Ending`] for an ending that it can't be written as, or what
/// the system says.
pub fn write_page(value: &impl Serialize, page: &Page, out: &Path) -> Result<(), DeskError> {
    match ending(out).as_str() {
        "html" | "htm" => write(out, html::page(page).as_bytes()),
        "txt" => write(out, text::page(page, text::WIDTH).as_bytes()),
        "json" => write(out, to_json(value)?.as_bytes()),
        "svg" | "png" | "pdf" => write_scene(&sheet(page), out),
        _ => {
            Err(DeskError::Ending { path: out.to_owned(), allowed: ".html, .svg, .png, .pdf, .json or .txt" })
        }
    }
}

/// Sharp on a screen and on paper, and still a small file.
const PIXELS_PER_INCH: f64 = 150.0;

/// Writes a file whole: under a temporary name first, then renamed.
///
/// # Errors
/// What the system says.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), DeskError> {
    let partial = path.with_extension(format!("{}.part", ending(path)));
    let written = std::fs::write(&partial, bytes).and_then(|()| std::fs::rename(&partial, path));
    if written.is_err() {
        // Nothing of a file that could not be finished should stay behind.
        let _ = std::fs::remove_file(&partial);
    }
    written.map_err(DeskError::file(path))
}
