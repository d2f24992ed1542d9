//! A quantity as a person writes it in one word: a number and its unit, such
//! as `100mph`, `-2 m/s` or `25C`.
//!
//! The rule: a unit is never guessed. Where more than one is in use, a bare
//! number is refused with the units that are known. Whether the value makes
//! sense is for others to say. Start at [`speed`]; [`strike`] for a point on
//! the face.

use super::check::Refusal;
use super::units::Unit;

/// A name that ends a word, with the way to the unit inside.
type Ending = (&'static str, fn(f64) -> f64);
type Names = [Ending];

const SPEEDS: &Names = &[
    ("mps", |v| Unit::Mps.to_inner(v)),
    ("m/s", |v| Unit::Mps.to_inner(v)),
    ("mph", |v| Unit::Mph.to_inner(v)),
    ("kph", |v| Unit::Kph.to_inner(v)),
    ("km/h", |v| Unit::Kph.to_inner(v)),
];
const LENGTHS: &Names =
    &[("yd", |v| Unit::Yd.to_inner(v)), ("ft", |v| Unit::Ft.to_inner(v)), ("m", |v| Unit::M.to_inner(v))];
const ANGLES: &Names = &[("deg", |v| v), ("°", |v| v)];
const SPINS: &Names = &[("rpm", |v| v)];
const TEMPERATURES: &Names = &[
    ("degc", |v| v),
    ("degf", |v| (v - 32.0) / 1.8),
    ("°c", |v| v),
    ("°f", |v| (v - 32.0) / 1.8),
    ("c", |v| v),
    ("f", |v| (v - 32.0) / 1.8),
];
/// Hectopascals in an inch of mercury by convention (ISO 31 and its successors: 3386.389 Pa).
const HPA_IN_INHG: f64 = 33.863_89;
const PRESSURES: &Names =
    &[("hpa", |v| v), ("mbar", |v| v), ("kpa", |v| v * 10.0), ("inhg", |v| v * HPA_IN_INHG)];
const SHARES: &Names = &[("%", |v| v)];
const FACE_LENGTHS: &Names = &[("mm", |v| v), ("in", |v| Unit::In.to_inner(v))];

/// A speed in m/s; the unit is needed.
///
/// # Errors
/// A [`Refusal`] that names the units.
pub fn speed(text: &str) -> Result<f64, Refusal> {
    read("speed", text, SPEEDS, false)
}

/// A length in m; the unit is needed.
///
/// # Errors
/// As [`speed`].
pub fn length(text: &str) -> Result<f64, Refusal> {
    read("length", text, LENGTHS, false)
}

/// An angle in degrees, with or without the unit.
///
/// # Errors
/// As [`speed`].
pub fn angle(text: &str) -> Result<f64, Refusal> {
    read("angle", text, ANGLES, true)
}

/// A spin in rpm, with or without the unit.
///
/// # Errors
/// As [`speed`].
pub fn spin(text: &str) -> Result<f64, Refusal> {
    read("spin", text, SPINS, true)
}

/// A temperature in degrees Celsius; the unit is needed.
///
/// # Errors
/// As [`speed`].
pub fn temperature(text: &str) -> Result<f64, Refusal> {
    read("temperature", text, TEMPERATURES, false)
}

/// A pressure in hPa; the unit is needed.
///
/// # Errors
/// As [`speed`].
pub fn pressure(text: &str) -> Result<f64, Refusal> {
    read("pressure", text, PRESSURES, false)
}

/// A share in percent, with or without the sign.
///
/// # Errors
/// As [`speed`].
pub fn percent(text: &str) -> Result<f64, Refusal> {
    read("share", text, SHARES, true)
}

/// A point on the face, such as `toe20,high0` or `heel5mm,low3`: mm toward the
/// toe and toward the crown. What is not said is 0.
///
/// # Errors
/// A [`Refusal`] that shows the form.
pub fn strike(text: &str) -> Result<(f64, f64), Refusal> {
    let refuse = |reason: &str| {
        Refusal::new("strike", text, "such as toe20,high0 or heel5,low3, in mm from the face centre", reason)
    };
    let (mut toe, mut high) = (None, None);
    for part in text.split(',') {
        let part = part.trim().to_lowercase();
        let words = [("toe", true, 1.0), ("heel", true, -1.0), ("high", false, 1.0), ("low", false, -1.0)];
        let said = words
            .into_iter()
            .find_map(|(word, across, sign)| part.strip_prefix(word).map(|rest| (across, rest, sign)));
        let Some((across, rest, sign)) = said else {
            return Err(refuse("each part begins with toe, heel, high or low"));
        };
        let slot = if across { &mut toe } else { &mut high };
        if slot.is_some() {
            return Err(refuse("each direction is said once"));
        }
        let value = read("strike", rest, FACE_LENGTHS, true);
        *slot = Some(sign * value.map_err(|_| refuse("a number of millimetres follows the word"))?);
    }
    Ok((toe.unwrap_or(0.0), high.unwrap_or(0.0)))
}

fn read(field: &str, text: &str, names: &Names, bare: bool) -> Result<f64, Refusal> {
    let written = text.trim().to_lowercase();
    // The longest name first, so that 5 mm/s is not 5 m of anything.
    let mut found: Option<Ending> = None;
    for (name, inner) in names {
        if written.ends_with(name) && found.is_none_or(|(f, _)| f.len() < name.len()) {
            found = Some((name, *inner));
        }
    }
    let known: Vec<&str> = names.iter().map(|(name, _)| *name).collect();
    let allowed = format!("a number with its unit ({})", known.join(", "));
    let refuse = |reason: &str| Err(Refusal::new(field, text, allowed.as_str(), reason));
    match found {
        Some((name, inner)) => match number(written.strip_suffix(name).unwrap_or_default()) {
            Some(value) => Ok(inner(value)),
            None => refuse("what stands before the unit is a plain number such as 12.5 or -3"),
        },
        None => match number(&written) {
            Some(value) if bare => Ok(value),
            Some(_) => refuse("a unit is never guessed"),
            None => refuse("neither a plain number nor a unit that is known here"),
        },
    }
}

/// A finite plain number.
fn number(text: &str) -> Option<f64> {
    let text = text.trim();
    let plain = text.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+' | b'e'));
    text.parse::<f64>().ok().filter(|value| plain && value.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_and_its_unit_are_one_word_or_two() {
        let near = |a: f64, b: f64| (a - b).abs() < 1e-9;
        assert!(near(speed("100mph").unwrap(), 44.704));
        assert!(near(speed("-2 m/s").unwrap(), -2.0) && near(speed("36km/h").unwrap(), 10.0));
        assert!(near(length("500m").unwrap(), 500.0) && near(length("3 ft").unwrap(), 0.9144));
        assert!(near(angle("-1.5").unwrap(), -1.5) && near(angle("13deg").unwrap(), 13.0));
        assert!(near(spin("2487rpm").unwrap(), 2487.0) && near(spin("1e3").unwrap(), 1000.0));
        assert!(near(temperature("77F").unwrap(), 25.0) && near(temperature("-4 degC").unwrap(), -4.0));
        assert!(near(pressure("30inHg").unwrap(), 1015.9167) && near(percent("50%").unwrap(), 50.0));
    }

    #[test]
    fn a_unit_is_never_guessed_and_what_is_no_number_is_refused() {
        let said = speed("100").unwrap_err().to_string();
        assert!(said.contains("mph") && said.contains("never guessed"), "{said}");
        for bad in ["NaN mph", "infmph", "mph", "", "1,000mph", "0x10mph", "100furlongs", "1e999mph"] {
            assert!(speed(bad).is_err(), "{bad}");
        }
        assert!(angle("NaN").is_err() && angle("inf").is_err() && angle("").is_err());
        assert!(length("5mm").is_err() && temperature("20").is_err());
    }

    #[test]
    fn a_strike_is_told_by_where_on_the_face_it_lies() {
        assert_eq!(strike("toe20,high0"), Ok((20.0, 0.0)));
        assert_eq!(strike(" low3 , heel5.5mm"), Ok((-5.5, -3.0)));
        assert_eq!(strike("toe-4"), Ok((-4.0, 0.0)));
        for bad in ["20,0", "toe", "toeNaN", "toe20,heel5", "high1,low1", "toe20;high0", ""] {
            let said = strike(bad).unwrap_err().to_string();
            assert!(said.contains("toe20,high0"), "{said}");
        }
    }
}
