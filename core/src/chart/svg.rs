//! A scene as SVG 1.1.
//!
//! Invariant: well-formed for any text in the scene, no scripts, no references
//! outside the file, numbers with at most two decimals and no platform in them,
//! equal bytes for equal scenes. The picture has its size in millimetres.
//!
//! Where to start: [`to_svg`].

use std::fmt::Write as _;

use super::scene::{Anchor, Item, Point, Scene, Step, Style, Text, Weight};
use super::theme::Theme;

/// The bundled font first, then what the reader has.
const FONTS: &str = "&apos;Atkinson Hyperlegible Next&apos;, &apos;Atkinson Hyperlegible&apos;, sans-serif";

/// Draws a scene as an SVG document.
pub fn to_svg(scene: &Scene, theme: Theme) -> String {
    let (width, height) = (number(scene.width_mm), number(scene.height_mm));
    let mut out = Writer { theme, text: String::new() };
    out.push(&format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" role=\"img\" \
         width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\" \
         font-family=\"{FONTS}\">\n<title>{}</title>\n<desc>{}</desc>\n",
        escape(&scene.title),
        escape(&scene.alt)
    ));
    let paper = theme.colour(super::scene::Role::Paper).hex();
    out.push(&format!("<rect width=\"{width}\" height=\"{height}\" fill=\"{paper}\"/>\n"));
    for item in &scene.items {
        out.item(item);
    }
    out.push("</svg>\n");
    out.text
}

/// A number with at most two decimals, without trailing zeros or a signed zero.
/// Not a number becomes 0: a picture stays a picture.
pub(crate) fn number(value: f64) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    let hundredths = (value * 100.0).round() as i64;
    let sign = if hundredths < 0 { "-" } else { "" };
    let (whole, rest) = (hundredths.unsigned_abs() / 100, hundredths.unsigned_abs() % 100);
    match rest {
        0 => format!("{sign}{whole}"),
        r if r % 10 == 0 => format!("{sign}{whole}.{}", r / 10),
        r => format!("{sign}{whole}.{r:02}"),
    }
}

/// Text made safe for XML content and attribute values. Characters that XML 1.0
/// does not allow become the replacement character; those that reorder or hide
/// text are left out.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&apos;"),
            '\n' | '\r' | '\t' => out.push(' '),
            '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => {}
            '\0'..='\u{1f}' | '\u{7f}'..='\u{9f}' | '\u{fffe}' | '\u{ffff}' => {
                out.push('\u{fffd}');
            }
            other => out.push(other),
        }
    }
    out
}

struct Writer {
    theme: Theme,
    text: String,
}

impl Writer {
    fn push(&mut self, text: &str) {
        self.text.push_str(text);
    }

    /// `name="value"` pairs of numbers.
    fn numbers(&mut self, pairs: &[(&str, f64)]) {
        for (name, value) in pairs {
            // Writing to a String can't fail.
            let _ = write!(self.text, " {name}=\"{}\"", number(*value));
        }
    }

    fn style(&mut self, style: &Style) {
        match style.fill {
            Some(role) => {
                let colour = self.theme.colour(role).hex();
                self.push(&format!(" fill=\"{colour}\""));
                if style.fill_opacity < 1.0 {
                    self.numbers(&[("fill-opacity", style.fill_opacity)]);
                }
            }
            None => self.push(" fill=\"none\""),
        }
        let Some(role) = style.stroke else { return };
        let colour = self.theme.colour(role).hex();
        self.push(&format!(" stroke=\"{colour}\""));
        self.numbers(&[("stroke-width", style.stroke_mm)]);
        let pattern = style.dash.pattern();
        if pattern.is_empty() {
            self.push(" stroke-linejoin=\"round\"");
        } else {
            let lengths: Vec<String> =
                pattern.iter().map(|length| number(length * style.stroke_mm)).collect();
            self.push(&format!(" stroke-linecap=\"round\" stroke-dasharray=\"{}\"", lengths.join(" ")));
        }
    }

    fn finish(&mut self, style: &Style) {
        self.style(style);
        self.push("/>\n");
    }

    fn item(&mut self, item: &Item) {
        match item {
            Item::Line { from, to, style } => {
                self.push("<line");
                self.numbers(&[("x1", from.x_mm), ("y1", from.y_mm), ("x2", to.x_mm), ("y2", to.y_mm)]);
                self.finish(style);
            }
            Item::Path { steps, style } => self.path(steps, style),
            Item::Rect { corner, width_mm, height_mm, round_mm, style } => {
                self.push("<rect");
                self.numbers(&[
                    ("x", corner.x_mm),
                    ("y", corner.y_mm),
                    ("width", *width_mm),
                    ("height", *height_mm),
                ]);
                if *round_mm > 0.0 {
                    self.numbers(&[("rx", *round_mm)]);
                }
                self.finish(style);
            }
            Item::Circle { centre, radius_mm, style } => {
                self.push("<circle");
                self.numbers(&[("cx", centre.x_mm), ("cy", centre.y_mm), ("r", *radius_mm)]);
                self.finish(style);
            }
            Item::Ellipse { centre, semi_x_mm, semi_y_mm, turn_deg, style } => {
                let (x, y) = (number(centre.x_mm), number(centre.y_mm));
                self.push(&format!("<ellipse cx=\"{x}\" cy=\"{y}\""));
                self.numbers(&[("rx", *semi_x_mm), ("ry", *semi_y_mm)]);
                if number(*turn_deg) != "0" {
                    let turn = number(*turn_deg);
                    self.push(&format!(" transform=\"rotate({turn} {x} {y})\""));
                }
                self.finish(style);
            }
            Item::Marker { at, shape, size_mm, style } => {
                let mut style = *style;
                if !shape.has_inside() {
                    style.fill = None;
                }
                self.path(&shape.steps(*at, *size_mm), &style);
            }
            Item::Text(text) => self.words(text),
            Item::Group { key, alt, items } => {
                self.push(&format!("<g class=\"{}\"", escape(key)));
                if alt.is_empty() {
                    self.push(" aria-hidden=\"true\">\n");
                } else {
                    self.push(&format!(" role=\"group\">\n<title>{}</title>\n", escape(alt)));
                }
                for item in items {
                    self.item(item);
                }
                self.push("</g>\n");
            }
        }
    }

    fn path(&mut self, steps: &[Step], style: &Style) {
        let pair = |p: &Point| format!("{} {}", number(p.x_mm), number(p.y_mm));
        let d: String = steps
            .iter()
            .map(|step| match step {
                Step::Move { to } => format!("M{}", pair(to)),
                Step::Line { to } => format!("L{}", pair(to)),
                Step::Curve { first, second, to } => {
                    format!("C{} {} {}", pair(first), pair(second), pair(to))
                }
                Step::Close => "Z".to_owned(),
            })
            .collect();
        self.push(&format!("<path d=\"{d}\""));
        self.finish(style);
    }

    /// A halo is the same text painted before with a wide stroke: `paint-order`
    /// is not in SVG 1.1.
    fn words(&mut self, text: &Text) {
        if text.halo {
            let paper = self.theme.colour(super::scene::Role::Paper).hex();
            let rim = number(text.size_mm * 0.3);
            self.one_text(
                text,
                &format!(
                    " fill=\"{paper}\" stroke=\"{paper}\" stroke-width=\"{rim}\" \
                     stroke-linejoin=\"round\" aria-hidden=\"true\""
                ),
            );
        }
        let colour = self.theme.colour(text.role).hex();
        self.one_text(text, &format!(" fill=\"{colour}\""));
    }

    fn one_text(&mut self, text: &Text, paint: &str) {
        self.push("<text");
        self.numbers(&[("x", text.at.x_mm), ("y", text.at.y_mm), ("font-size", text.size_mm)]);
        match text.anchor {
            Anchor::Start => {}
            Anchor::Middle => self.push(" text-anchor=\"middle\""),
            Anchor::End => self.push(" text-anchor=\"end\""),
        }
        if text.weight == Weight::Bold {
            self.push(" font-weight=\"700\"");
        }
        self.push(paint);
        self.push(&format!(">{}</text>\n", escape(&text.text)));
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp, clippy::indexing_slicing)]
mod tests {
    use super::*;
    use crate::chart::scene::{Role, at};

    #[test]
    fn numbers_have_at_most_two_decimals_and_no_signed_zero() {
        let cases = [
            (0.0, "0"),
            (-0.004, "0"),
            (1.5, "1.5"),
            (-2.25, "-2.25"),
            (3.006, "3.01"),
            (100.0, "100"),
            (0.05, "0.05"),
            (f64::NAN, "0"),
            (f64::INFINITY, "0"),
        ];
        for (value, text) in cases {
            assert_eq!(number(value), text);
        }
    }

    #[test]
    fn hostile_text_can_not_leave_its_element() {
        let hostile = "</text><script>alert('x')</script>&#0;\u{0}\u{1b}[31m\u{202e}\"'";
        let scene = Scene {
            title: hostile.to_owned(),
            alt: hostile.to_owned(),
            width_mm: 50.0,
            height_mm: 20.0,
            items: vec![Item::group(
                hostile,
                hostile,
                vec![Item::Text(Text {
                    at: at(1.0, 2.0),
                    text: hostile.to_owned(),
                    size_mm: 3.0,
                    anchor: Anchor::Start,
                    weight: Weight::Regular,
                    role: Role::Ink,
                    halo: true,
                })],
            )],
        };
        let svg = to_svg(&scene, Theme::Light);
        assert!(!svg.contains("<script"));
        assert!(!svg.contains('\u{0}') && !svg.contains('\u{1b}') && !svg.contains('\u{202e}'));
        assert_eq!(svg.matches("</text>").count(), 2);
        assert_eq!(svg.matches("<title>").count(), 2);
        // No ampersand that is not one of our five entities.
        for part in svg.split('&').skip(1) {
            let entity = part.split(';').next().unwrap_or("");
            assert!(["amp", "lt", "gt", "quot", "apos"].contains(&entity), "{entity}");
        }
    }
}
