//! Distances on a chart in the player's unit.
//!
//! Invariant: charts take metres and turn them here only, so a label and the
//! place that it stands at never disagree.
//!
//! Where to start: [`Length`].

use super::axis::{Tick, multiples};

/// What a player reads distances in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Length {
    /// Metres.
    Metres,
    /// Yards.
    Yards,
}

impl Length {
    /// Its short name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Metres => "m",
            Self::Yards => "yd",
        }
    }

    /// Metres in one (1959 agreement: a yard is 0.9144 m, exact).
    pub(super) const fn in_m(self) -> f64 {
        match self {
            Self::Metres => 1.0,
            Self::Yards => 0.9144,
        }
    }

    /// A distance in this unit.
    pub(super) fn of(self, m: f64) -> f64 {
        m / self.in_m()
    }

    /// A distance as a whole number with its unit.
    pub(super) fn text(self, m: f64) -> String {
        format!("{} {}", crate::words::number::fixed(self.of(m), 0), self.name())
    }

    /// Round numbers of this unit inside a range of metres, at most about
    /// `most`; values in metres, labels in this unit.
    pub(super) fn ticks(self, low_m: f64, high_m: f64, most: f64) -> Vec<Tick> {
        let rough = self.of(high_m - low_m) / most.max(1.0);
        let steps = [1.0, 2.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 200.0];
        let step = steps.into_iter().find(|step| *step >= rough).unwrap_or(500.0);
        multiples(self.of(low_m), self.of(high_m), step)
            .into_iter()
            .map(|value| Tick {
                value: value * self.in_m(), label: format!("{value:.0}").replace('-', "−")
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_are_round_in_the_players_unit_and_stand_where_they_say() {
        let ticks = Length::Yards.ticks(0.0, 200.0, 5.0);
        let labels: Vec<&str> = ticks.iter().map(|t| t.label.as_str()).collect();
        assert_eq!(labels, ["0", "50", "100", "150", "200"]);
        assert!((ticks.last().unwrap().value - 182.88).abs() < 1e-9);
        assert_eq!(Length::Metres.ticks(-12.0, 12.0, 5.0).len(), 5);
        assert_eq!(Length::Yards.text(100.0), "109 yd");
    }
}
