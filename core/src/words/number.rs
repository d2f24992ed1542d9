//! Numbers, days and counts as a person reads them. No locale: the same words
//! on every device.

use crate::model::{Day, UnitSystem};

/// A number with so many decimals; never "-0".
pub fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

/// `1 ball`, `2 balls`; `many` only where it isn't `one` and an s.
pub fn count(n: u64, one: &str) -> String {
    counted(n, one, &format!("{one}s"))
}

/// A count with its word, in both forms.
pub fn counted(n: u64, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// `once a week`, `3 times a week`.
pub fn times_a_week(times: i64) -> String {
    match times {
        1 => "once a week".into(),
        2 => "twice a week".into(),
        more => format!("{more} times a week"),
    }
}

/// A share in whole per cent; 0 and 100 only where they are exact.
pub fn percent(share: f64) -> String {
    let whole = (share * 100.0).round();
    if share > 0.0 && whole < 1.0 {
        "under 1 %".to_owned()
    } else if share < 1.0 && whole > 99.0 {
        "over 99 %".to_owned()
    } else {
        format!("{whole:.0} %")
    }
}

const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// `4 May 2026`.
pub fn day(day: Day) -> String {
    format!("{} {}", day_of_year(day), day.parts().0)
}

/// `4 May`.
pub fn day_of_year(day: Day) -> String {
    let (_, month, date) = day.parts();
    format!("{date} {}", MONTHS.get(month as usize - 1).copied().unwrap_or_default())
}

/// `4 May` or `2 Mar to 4 May`.
pub fn days(from: Day, until: Day) -> String {
    if from == until { day_of_year(from) } else { format!("{} to {}", day_of_year(from), day_of_year(until)) }
}

/// A speed with its unit: `92.4 mph`.
pub fn speed(units: UnitSystem, mps: f64) -> String {
    let (value, unit) = units.speed(mps);
    format!("{} {unit}", fixed(value, 1))
}

/// A distance with its unit, whole: `213 yd`.
pub fn distance(units: UnitSystem, m: f64) -> String {
    let (value, unit) = units.distance(m);
    format!("{} {unit}", fixed(value, 0))
}

/// A signed amount: `+3.1`, `−0.4`, `0.0`.
pub(super) fn signed(value: f64, decimals: usize) -> String {
    let text = fixed(value.abs(), decimals);
    if text.bytes().all(|c| matches!(c, b'0' | b'.')) {
        text
    } else if value < 0.0 {
        format!("−{text}")
    } else {
        format!("+{text}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_as_people_write_them() {
        assert_eq!(fixed(-0.04, 1), "0.0");
        assert_eq!(fixed(-2.25, 1), "-2.2");
        assert_eq!(count(1, "ball"), "1 ball");
        assert_eq!(count(0, "ball"), "0 balls");
        assert_eq!(percent(0.666), "67 %");
        assert_eq!(day(Day::parse("2026-05-04").unwrap()), "4 May 2026");
        assert_eq!(speed(UnitSystem::Imperial, 44.704), "100.0 mph");
        assert_eq!(distance(UnitSystem::Metric, 199.6), "200 m");
    }
}
