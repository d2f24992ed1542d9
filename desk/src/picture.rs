//! Pictures of scenes: SVG from the core to PNG and PDF.
//!
//! One parser (usvg) serves both. PDF goes through krilla and krilla-svg rather
//! than svg2pdf: krilla is the newer and actively kept writer, on a recent usvg,
//! and keeps text as text; svg2pdf 0.13 still speaks usvg 0.45, which would build
//! the parser and the rasteriser twice. `resvg` is held at the version that
//! krilla-svg speaks.
//!
//! Invariant: equal bytes for equal scenes wherever the bundled font has the
//! characters; fonts of the system are looked at only for characters it lacks,
//! and nothing is read from the network or the disk otherwise.
//!
//! Where to start: [`to_png`], [`to_pdf`].

use std::sync::Arc;

use chalkface_core::chart::measure::is_bundled;
use chalkface_core::chart::{Scene, Theme, to_svg};
use krilla::Document;
use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla_svg::{SurfaceExt, SvgSettings};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{self, fontdb};

const REGULAR: &[u8] = include_bytes!("../assets/AtkinsonHyperlegibleNext-Regular.ttf");
const BOLD: &[u8] = include_bytes!("../assets/AtkinsonHyperlegibleNext-Bold.ttf");
/// Name of the bundled family.
const FAMILY: &str = "Atkinson Hyperlegible Next";

const MM_PER_INCH: f64 = 25.4;
const POINTS_PER_INCH: f64 = 72.0;
/// usvg counts 96 units to the inch.
const UNITS_PER_INCH: f64 = 96.0;
/// No picture has more pixels on a side than this.
pub const MOST_PIXELS: u32 = 16_384;

/// Why a scene could not be made into a picture.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PictureError {
    /// The scene's SVG was refused: a fault of ours.
    #[error("the chart \"{title}\" could not be read as SVG: {reason}")]
    Svg {
        /// Title of the scene.
        title: String,
        /// The parser's words.
        reason: usvg::Error,
    },
    /// The picture would have no or too many pixels.
    #[error(
        "a picture of {width} by {height} pixels can't be made; each side must be from 1 to \
         {MOST_PIXELS}: choose another resolution"
    )]
    Size {
        /// Wanted width, pixels.
        width: u32,
        /// Wanted height, pixels.
        height: u32,
    },
    /// The pixels could not be written as PNG.
    #[error("the PNG could not be written: {0}")]
    Png(String),
    /// The PDF could not be written.
    #[error("the PDF could not be written: {0}")]
    Pdf(String),
}

/// A scene as PNG with so many pixels to the inch (96: one CSS pixel is one
/// pixel; 300 for print).
///
/// # Errors
/// [`PictureError`] if the picture would be empty or too large.
pub fn to_png(scene: &Scene, theme: Theme, pixels_per_inch: f64) -> Result<Vec<u8>, PictureError> {
    let tree = parse(scene, theme)?;
    let side = |mm: f64| (mm / MM_PER_INCH * pixels_per_inch).round() as u32;
    let (width, height) = (side(scene.width_mm), side(scene.height_mm));
    let refused = || PictureError::Size { width, height };
    if width.max(height) > MOST_PIXELS {
        return Err(refused());
    }
    let mut pixels = Pixmap::new(width, height).ok_or_else(refused)?;
    let scale = (pixels_per_inch / UNITS_PER_INCH) as f32;
    resvg::render(&tree, Transform::from_scale(scale, scale), &mut pixels.as_mut());
    pixels.encode_png().map_err(|error| PictureError::Png(error.to_string()))
}

/// A scene as a PDF of one page, in its true size, with text as text.
///
/// # Errors
/// [`PictureError`] if the scene has no size or the PDF could not be written.
pub fn to_pdf(scene: &Scene, theme: Theme) -> Result<Vec<u8>, PictureError> {
    let tree = parse(scene, theme)?;
    let points = |mm: f64| (mm / MM_PER_INCH * POINTS_PER_INCH) as f32;
    let refused = || PictureError::Size {
        width: points(scene.width_mm) as u32,
        height: points(scene.height_mm) as u32,
    };
    let size = Size::from_wh(points(scene.width_mm), points(scene.height_mm)).ok_or_else(refused)?;
    let settings = PageSettings::from_wh(size.width(), size.height()).ok_or_else(refused)?;
    let mut document = Document::new();
    // No date and no id of its own: the same scene gives the same file.
    document.set_metadata(
        Metadata::new()
            .title(scene.title.clone())
            .description(scene.alt.clone())
            .creator("Chalkface".to_owned())
            .language("en".to_owned()),
    );
    let mut page = document.start_page_with(settings);
    let mut surface = page.surface();
    let drawn = surface.draw_svg(&tree, size, SvgSettings::default());
    surface.finish();
    page.finish();
    if drawn.is_none() {
        return Err(PictureError::Pdf("the page has no area".to_owned()));
    }
    document.finish().map_err(|error| PictureError::Pdf(format!("{error:?}")))
}

fn parse(scene: &Scene, theme: Theme) -> Result<usvg::Tree, PictureError> {
    let svg = to_svg(scene, theme);
    let options = usvg::Options {
        dpi: UNITS_PER_INCH as f32,
        font_family: FAMILY.to_owned(),
        fontdb: Arc::new(fonts(&svg)),
        ..usvg::Options::default()
    };
    usvg::Tree::from_str(&svg, &options)
        .map_err(|reason| PictureError::Svg { title: scene.title.clone(), reason })
}

/// The bundled fonts, and the system's only if the text needs them.
fn fonts(text: &str) -> fontdb::Database {
    let mut database = fontdb::Database::new();
    database.load_font_data(REGULAR.to_vec());
    database.load_font_data(BOLD.to_vec());
    let foreign = text.chars().any(|c| !c.is_control() && !is_bundled(c));
    if foreign {
        database.load_system_fonts();
    }
    database.set_sans_serif_family(FAMILY);
    database
}

#[cfg(test)]
mod tests {
    use chalkface_core::chart::measure;
    use chalkface_core::chart::scene::{Anchor, Item, Role, Text, Weight, at};

    use super::*;

    type Done = Result<(), Box<dyn std::error::Error>>;

    fn scene(text: &str, weight: Weight) -> Scene {
        Scene {
            title: "A title".to_owned(),
            alt: "What it shows.".to_owned(),
            width_mm: 80.0,
            height_mm: 20.0,
            items: vec![Item::Text(Text {
                at: at(5.0, 12.0),
                text: text.to_owned(),
                size_mm: 4.0,
                anchor: Anchor::Start,
                weight,
                role: Role::Ink,
                halo: false,
            })],
        }
    }

    #[test]
    fn pictures_of_one_scene_are_equal_bytes_and_of_the_right_size() -> Done {
        let scene = scene("Café Łódź 12 mm", Weight::Bold);
        let png = to_png(&scene, Theme::Light, 300.0)?;
        assert_eq!(png, to_png(&scene, Theme::Light, 300.0)?);
        let pixels = Pixmap::decode_png(&png)?;
        assert_eq!((pixels.width(), pixels.height()), (945, 236));
        let pdf = to_pdf(&scene, Theme::Print)?;
        assert_eq!(pdf, to_pdf(&scene, Theme::Print)?);
        assert!(pdf.starts_with(b"%PDF-"));
        Ok(())
    }

    #[test]
    fn the_core_measures_text_as_wide_as_the_font_draws_it() -> Done {
        for weight in [Weight::Regular, Weight::Bold] {
            for text in ["middle of the strikes (24)", "HHHHHHHHHH", "Jürgen Šťastný–Ørsted"] {
                let scene = scene(text, weight);
                let tree = parse(&scene, Theme::Light)?;
                let box_mm = f64::from(tree.root().abs_bounding_box().width());
                assert!(box_mm > 0.0);
                let drawn = text_width_mm(&tree).ok_or("no text in the tree")?;
                let measured = measure::width_mm(text, 4.0, weight);
                assert!(
                    drawn <= measured * 1.005 && drawn >= measured * 0.93,
                    "{text} {weight:?}: drawn {drawn}, measured {measured}"
                );
            }
        }
        Ok(())
    }

    fn text_width_mm(tree: &usvg::Tree) -> Option<f64> {
        fn find(group: &usvg::Group) -> Option<f64> {
            group.children().iter().find_map(|node| match node {
                usvg::Node::Text(text) => Some(f64::from(text.bounding_box().width())),
                usvg::Node::Group(inner) => find(inner),
                _ => None,
            })
        }
        find(tree.root())
    }

    #[test]
    fn a_picture_too_large_or_empty_is_refused_with_its_size() {
        let scene = scene("x", Weight::Regular);
        for pixels_per_inch in [0.0, 1e6, f64::NAN] {
            let error = to_png(&scene, Theme::Light, pixels_per_inch);
            assert!(matches!(error, Err(PictureError::Size { .. })), "{error:?}");
        }
    }

    #[test]
    fn the_bundled_font_is_enough_for_latin_text() {
        assert_eq!(fonts("Søren, 12–14 mm × 2").len(), 2);
    }
}
