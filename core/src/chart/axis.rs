//! Round numbers for axes.
//!
//! Invariant: ticks are multiples of 1, 2 or 5 times a power of ten, in order,
//! inside the range, and their labels have as many decimals as the step needs.
//!
//! Where to start: [`ticks`].

/// A tick with its label.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tick {
    pub value: f64,
    pub label: String,
}

/// The round step at or above `span / most`, with the decimals that it needs.
fn step(span: f64, most: u32) -> (f64, usize) {
    let rough = span / f64::from(most.max(1));
    let mut decimals = 0_usize;
    let mut power = 1.0_f64;
    while power > rough && decimals < 9 {
        power /= 10.0;
        decimals += 1;
    }
    while power * 10.0 <= rough && decimals == 0 {
        power *= 10.0;
    }
    for factor in [1.0, 2.0, 5.0] {
        if power * factor >= rough {
            return (power * factor, decimals);
        }
    }
    (power * 10.0, decimals.saturating_sub(1))
}

/// The range widened to whole steps, and the ticks in it: at most `most + 2`.
pub(super) fn nice(low: f64, high: f64, most: u32) -> (f64, f64, Vec<Tick>) {
    let (low, high) = if high > low { (low, high) } else { (low - 0.5, low + 0.5) };
    let (step, decimals) = step(high - low, most);
    let (first, last) = ((low / step).floor(), (high / step).ceil());
    let last = if last > first { last } else { first + 1.0 };
    let mut ticks = Vec::new();
    let mut index = first;
    while index <= last {
        // Folds a negative zero.
        let value = index * step + 0.0;
        ticks.push(Tick { value, label: format!("{value:.decimals$}").replace('-', "−") });
        index += 1.0;
    }
    (first * step, last * step, ticks)
}

/// Multiples of `step` inside a range, lowest first.
pub(super) fn multiples(low: f64, high: f64, step: f64) -> Vec<f64> {
    let mut found = Vec::new();
    let mut index = (low / step).ceil();
    while index * step <= high && found.len() < 1000 {
        found.push(index * step + 0.0);
        index += 1.0;
    }
    found
}

#[cfg(test)]
#[allow(clippy::float_cmp, clippy::indexing_slicing)]
mod tests {
    use super::*;

    fn labels(low: f64, high: f64) -> Vec<String> {
        nice(low, high, 5).2.into_iter().map(|t| t.label).collect()
    }

    #[test]
    fn ticks_are_round_and_hold_the_range() {
        assert_eq!(labels(3.0, 17.0), ["0", "5", "10", "15", "20"]);
        assert_eq!(labels(0.0, 1.0), ["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]);
        assert_eq!(labels(-4.0, 4.0), ["−4", "−2", "0", "2", "4"]);
        assert_eq!(labels(210.0, 255.0), ["210", "220", "230", "240", "250", "260"]);
        assert_eq!(labels(5.0, 5.0).first().map(String::as_str), Some("4.4"));
    }
}
