//! A contact card as a QR code (ISO/IEC 18004), for another device's camera.
//!
//! The rule that must hold: dark on light, with the quiet border of four
//! modules that the standard asks for; so it is always drawn for paper.
//! Start at [`card_code`].

use fast_qr::{ECL, QRBuilder};

use super::ChartError;
use super::scene::{Anchor, Item, Role, Scene, Step, Style, Text, Weight, at};
use crate::words;

/// Side of a module, mm: a phone reads it off another phone's screen.
const MODULE_MM: f64 = 1.0;
/// The border that the standard asks for, modules.
const QUIET: f64 = 4.0;
const LINE_MM: f64 = 5.5;

/// The code of a card's text, with whose it is and the phrase to compare.
///
/// # Errors
/// [`ChartError::TooLong`] if the text is longer than a code may be.
pub fn card_code(text: &str, whose: &str, check_phrase: &str) -> Result<Scene, ChartError> {
    let code =
        QRBuilder::new(text).ecl(ECL::M).build().map_err(|_| ChartError::TooLong { letters: text.len() })?;
    let wide = code.size as f64 * MODULE_MM + 2.0 * QUIET;
    let mut steps = Vec::new();
    for y in 0..code.size {
        let at = |x: usize| code.data.get(y * code.size + x).is_some_and(|module| module.value());
        let dark = |x: usize| x < code.size && at(x);
        let mut x = 0;
        while x < code.size {
            let from = x;
            while dark(x) {
                x += 1;
            }
            if x > from {
                rectangle(&mut steps, QUIET + from as f64, QUIET + y as f64, (x - from) as f64, 1.0);
            }
            x += 1;
        }
    }
    let mut ground = Vec::new();
    rectangle(&mut ground, 0.0, 0.0, wide, wide);
    let mut items = vec![
        Item::Path { steps: ground, style: Style::fill(Role::CodeLight) },
        Item::Path { steps, style: Style::fill(Role::CodeDark) },
    ];
    let label = |line: f64, text: String, weight| {
        Item::Text(Text {
            at: at(wide / 2.0, wide + line * LINE_MM),
            text,
            size_mm: 4.0,
            anchor: Anchor::Middle,
            weight,
            role: Role::Ink,
            halo: false,
        })
    };
    items.push(label(0.5, whose.to_owned(), Weight::Bold));
    items.push(label(1.5, check_phrase.to_owned(), Weight::Regular));
    Ok(Scene {
        title: words::people::card_title(whose),
        alt: words::people::card_alt(whose, check_phrase),
        width_mm: wide,
        height_mm: wide + 2.2 * LINE_MM,
        items,
    })
}

fn rectangle(steps: &mut Vec<Step>, x: f64, y: f64, wide: f64, high: f64) {
    let corner = |dx: f64, dy: f64| at((x + dx) * MODULE_MM, (y + dy) * MODULE_MM);
    steps.push(Step::Move { to: corner(0.0, 0.0) });
    steps.extend([corner(wide, 0.0), corner(wide, high), corner(0.0, high)].map(|to| Step::Line { to }));
    steps.push(Step::Close);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Theme;

    /// Brightness at the middle of a module, as a theme paints what is drawn there last.
    fn brightness(scene: &Scene, theme: Theme, x: usize, y: usize) -> u8 {
        let (x, y) = (x as f64 + 0.5, y as f64 + 0.5);
        let mut seen = theme.colour(Role::Paper);
        for item in &scene.items {
            let Item::Path { steps, style } = item else { continue };
            let inside = steps.chunks(5).any(|r| match (&r[0], &r[2]) {
                (Step::Move { to: a }, Step::Line { to: b }) => {
                    a.x_mm < x && x < b.x_mm && a.y_mm < y && y < b.y_mm
                }
                _ => false,
            });
            if inside {
                seen = theme.colour(style.fill.unwrap());
            }
        }
        seen.1
    }

    #[test]
    fn another_reader_of_codes_reads_the_text_off_the_drawing_in_every_theme() {
        // rqrr is a reader by other people; as many, it takes dark for the code and light for the ground.
        let text = format!("CHALK:{}", "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567".repeat(17));
        let scene = card_code(&text, "Ina", "six words").unwrap();
        let side = scene.width_mm as usize;
        let zoom = 3;
        for theme in Theme::ALL {
            let mut image = rqrr::PreparedImage::prepare_from_greyscale(side * zoom, side * zoom, |x, y| {
                brightness(&scene, theme, x / zoom, y / zoom)
            });
            let grids = image.detect_grids();
            assert_eq!(grids.len(), 1, "{theme:?}");
            assert_eq!(grids[0].decode().unwrap().1, text);
        }
    }

    #[test]
    fn a_text_too_long_for_a_code_is_refused() {
        assert!(card_code(&"A".repeat(9_000), "Ina", "").is_err());
    }
}
