//! How wide a text is, without a font at hand.
//!
//! Invariant: for text of the bundled font's own characters the width is the sum
//! of its advances, which kerning only shortens; for others it is a generous
//! guess, so what is laid out by these widths does not overlap.
//!
//! Where to start: [`width_mm`], [`fit`], [`wrap`].

use super::advance::{CAP_HEIGHT, RUNS};
use super::scene::Weight;

/// Width of a text, mm.
pub fn width_mm(text: &str, size_mm: f64, weight: Weight) -> f64 {
    let thousandths: u32 = text.chars().map(|c| u32::from(advance(c, weight))).sum();
    f64::from(thousandths) / 1000.0 * size_mm
}

/// Height of capitals and figures, mm.
pub fn cap_height_mm(size_mm: f64) -> f64 {
    f64::from(CAP_HEIGHT) / 1000.0 * size_mm
}

/// Whether the bundled font is known to have a character. Those it lacks come
/// from the reader's own fonts.
pub fn is_bundled(c: char) -> bool {
    known(u32::from(c)).is_some()
}

fn known(code: u32) -> Option<&'static (u16, u16)> {
    RUNS.iter().find_map(|(first, widths)| {
        let index = usize::try_from(code.checked_sub(*first)?).ok()?;
        widths.get(index)
    })
}

fn advance(c: char, weight: Weight) -> u16 {
    let code = u32::from(c);
    match (known(code), weight) {
        (Some((regular, _)), Weight::Regular) => *regular,
        (Some((_, bold)), Weight::Bold) => *bold,
        // Combining marks and joiners sit on the character before them.
        (None, _) if matches!(code, 0x0300..=0x036f | 0x200b..=0x200f | 0xfe00..=0xfe0f) => 0,
        // East Asian and pictographs fill the em; other scripts stay under it.
        (None, _) if code >= 0x1100 => 1100,
        (None, _) => 900,
    }
}

/// A text cut to a width, with an ellipsis if anything had to go.
pub fn fit(text: &str, size_mm: f64, weight: Weight, max_mm: f64) -> String {
    if width_mm(text, size_mm, weight) <= max_mm {
        return text.to_owned();
    }
    let room = max_mm - width_mm("…", size_mm, weight);
    let mut used = 0.0;
    let mut kept = String::new();
    for c in text.chars() {
        used += f64::from(advance(c, weight)) / 1000.0 * size_mm;
        if used > room {
            break;
        }
        kept.push(c);
    }
    kept.truncate(kept.trim_end().len());
    kept.push('…');
    kept
}

/// A text broken into lines of at most a width, at most `most` of them; the last
/// ends in an ellipsis if the text goes on. A word wider than a line is cut.
pub fn wrap(text: &str, size_mm: f64, weight: Weight, max_mm: f64, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let longer = lines.last().map(|line| format!("{line} {word}"));
        match longer {
            Some(longer) if width_mm(&longer, size_mm, weight) <= max_mm => {
                if let Some(last) = lines.last_mut() {
                    *last = longer;
                }
            }
            Some(longer) if lines.len() >= most => {
                if let Some(last) = lines.last_mut() {
                    // One word too many makes `fit` put the ellipsis in.
                    *last = fit(&format!("{longer} …"), size_mm, weight, max_mm);
                }
                break;
            }
            _ => lines.push(fit(word, size_mm, weight, max_mm)),
        }
    }
    lines
}

#[cfg(test)]
#[allow(clippy::float_cmp, clippy::indexing_slicing)]
mod tests {
    use super::*;

    #[test]
    fn widths_come_from_the_font() {
        // 669 + 299: "D" and "(" of the regular font, in thousandths.
        let width = width_mm("D(", 10.0, Weight::Regular);
        assert!((width - 9.68).abs() < 1e-9, "{width}");
        assert!(width_mm("D(", 10.0, Weight::Bold) > width);
    }

    #[test]
    fn a_cut_text_is_no_wider_than_asked_and_says_that_it_was_cut() {
        for room in [4.0, 9.0, 20.0, 31.0] {
            let cut = fit("Wilhelmina Vandenbroucke", 3.0, Weight::Bold, room);
            assert!(width_mm(&cut, 3.0, Weight::Bold) <= room, "{cut}");
            assert!(cut.ends_with('…'));
        }
        assert_eq!(fit("Ann", 3.0, Weight::Regular, 20.0), "Ann");
    }

    #[test]
    fn wrapped_lines_keep_to_the_width_and_lose_no_word_unless_cut() {
        let text = "The middle of the strikes is off the target point by nine millimetres";
        let lines = wrap(text, 3.0, Weight::Regular, 40.0, 9);
        assert!(lines.len() > 2);
        assert_eq!(lines.join(" "), text);
        for line in &lines {
            assert!(width_mm(line, 3.0, Weight::Regular) <= 40.0, "{line}");
        }
        let two = wrap(text, 3.0, Weight::Regular, 40.0, 2);
        assert_eq!(two.len(), 2);
        assert!(two[1].ends_with('…'), "{two:?}");
    }
}
