//! One cell: its text as a number, a yes or no, or a word of the trade.
//!
//! Numbers are plain decimal ones. What a lenient reader would take for a
//! number (infinities, hexadecimal, thousands separators) is refused, since
//! nobody who logs a ball means it. Start at [`number`].

use super::field::unit_name;
use crate::model::check::{Range, quoted};
use crate::model::units::Unit;
use crate::model::{CurveByEye, Hand, Refusal, StartByEye};

/// The number in a cell; `decimal_comma` where cells are parted by semicolons.
pub(super) fn number(text: &str, field: &str, decimal_comma: bool) -> Result<f64, Refusal> {
    // Nearly every cell is as plain as this; the rest tells apart what is wrong.
    if text.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'-'))
        && let Ok(value) = text.parse::<f64>()
        && value.is_finite()
    {
        return Ok(value);
    }
    let refuse = |reason: &str| Err(Refusal::new(field, text, "a plain number such as 12.5 or -3", reason));
    let body = text.strip_prefix(['-', '+']).unwrap_or(text);
    let commas = body.matches(',').count();
    let points = body.matches('.').count();
    if !body.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',')) {
        return refuse("a cell holds a number or nothing");
    }
    if body.len() > 1 && body.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b',' | b'\'' | b' ')) {
        if commas + points > 1 || body.contains(['\'', ' ']) {
            return refuse("one decimal mark and no thousands separators: write 1234.5, not 1,234.5");
        }
        if commas == 1 && !decimal_comma {
            return refuse("a decimal comma is taken only where semicolons stand between the cells");
        }
    }
    let plain = if decimal_comma && commas == 1 { text.replacen(',', ".", 1) } else { text.to_owned() };
    if !plain.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+' | b'e' | b'E')) {
        return refuse("the unit stands in the column's name, the cell holds digits only");
    }
    match plain.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        Ok(_) => refuse("a number as large as that can't be held"),
        Err(_) => refuse("a cell holds a number or nothing"),
    }
}

/// A refusal of a value out of range, in the unit that the column is in.
pub(super) fn out_of_range(text: &str, unit: Option<Unit>, range: &Range) -> Refusal {
    let inner = unit.map_or(1.0, |u| u.to_inner(1.0));
    let name = unit.map_or("", unit_name);
    let round = |limit: f64| (limit / inner * 10.0).round() / 10.0;
    Refusal::new(
        range.field,
        format!("{} {name}", quoted(text)),
        format!("{} to {} {name}", round(range.low), round(range.high)),
        range.reason,
    )
}

/// Yes or no.
pub(super) fn yes_or_no(text: &str, field: &str) -> Result<bool, Refusal> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" => Ok(true),
        "no" | "n" | "false" | "0" => Ok(false),
        _ => Err(Refusal::new(field, text, "yes or no (also y, n, true, false, 1, 0)", "it is or it isn't")),
    }
}

/// Where the ball started, by eye. `pull` and `push` turn with the hand.
pub(super) fn start_word(text: &str, hand: Option<Hand>) -> Result<StartByEye, Refusal> {
    let word = plain_word(text);
    let for_right = match word.as_str() {
        "pull" => StartByEye::Left,
        "push" => StartByEye::Right,
        _ => {
            return StartByEye::named(&word).map_err(|refusal| Refusal {
                value: quoted(text),
                allowed: format!("{}; or pull, push", refusal.allowed),
                reason: "words by eye; an angle goes into a column start_deg".into(),
                ..refusal
            });
        }
    };
    Ok(match need_hand("start", text, hand)? {
        Hand::Right => for_right,
        Hand::Left if for_right == StartByEye::Left => StartByEye::Right,
        Hand::Left => StartByEye::Left,
    })
}

/// How the ball curved, by eye. The trade's words turn with the hand.
pub(super) fn curve_word(text: &str, hand: Option<Hand>) -> Result<CurveByEye, Refusal> {
    let word = plain_word(text);
    let (right, left) = match word.as_str() {
        "hook" => (CurveByEye::StrongLeft, CurveByEye::StrongRight),
        "draw" => (CurveByEye::Left, CurveByEye::Right),
        "fade" => (CurveByEye::Right, CurveByEye::Left),
        "slice" => (CurveByEye::StrongRight, CurveByEye::StrongLeft),
        _ => {
            return CurveByEye::named(&word).map_err(|refusal| Refusal {
                value: quoted(text),
                allowed: format!("{}; or hook, draw, fade, slice", refusal.allowed),
                reason: "words by eye; how far it curved goes into a column curve_m or curve_yd, where it came down into side_m or side_yd".into(),
                ..refusal
            });
        }
    };
    Ok(if need_hand("curve", text, hand)? == Hand::Right { right } else { left })
}

fn need_hand(field: &str, text: &str, hand: Option<Hand>) -> Result<Hand, Refusal> {
    hand.ok_or_else(|| {
        Refusal::new(
            field,
            text,
            "left or right in the word, or the player's hand beside the file",
            "this word means one side for a right-hander and the other for a left-hander",
        )
    })
}

/// A word in lower case, with single spaces for hyphens, underscores and spaces.
pub(super) fn plain_word(text: &str) -> String {
    let words: Vec<&str> =
        text.split(|c: char| c.is_whitespace() || c == '-' || c == '_').filter(|w| !w.is_empty()).collect();
    words.join(" ").to_lowercase()
}
