//! What a swung shaft sounds like: the two laws that reading a recording will
//! rest on. Formulas only; nothing here listens yet.
//!
//! The rule that must hold: one club, one place, one microphone. Taper smears
//! the tone, the head is louder than the shaft, and level falls with distance,
//! so these compare swings and never give a speed by themselves.
//!
//! Start at [`shaft_tone_hz`].

/// Strouhal number of a cylinder across the stream at the Reynolds numbers of a
/// swung shaft, 1.5e4 to 5.6e4: 0.20 +/- 0.02 (Norberg 1987, 2003; from memory).
pub const STROUHAL: f64 = 0.20;

/// Tone of a shaft of a diameter at a speed, Hz: Strouhal's law f = St U / d
/// (Strouhal 1878; the law and its author confirmed in the American
/// Meteorological Society's glossary).
pub fn shaft_tone_hz(speed_mps: f64, diameter_mm: f64) -> f64 {
    STROUHAL * speed_mps / (diameter_mm / 1000.0)
}

/// Change of level between two speeds, dB: 60 log10(U2 / U1), as sound pressure
/// goes with the third power of speed (Phillips, J. Fluid Mech. 1, 607, 1956,
/// for Reynolds numbers 40 to 160; above them the exponent drifts between 5
/// and 6, Vovk and Malyuga 2010).
pub fn level_change_db(from_mps: f64, to_mps: f64) -> f64 {
    60.0 * libm::log10(to_mps / from_mps)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ten_millimetre_shaft_sings_as_strouhals_law_says() {
        for (speed, tone) in [(25.0, 500.0), (35.0, 700.0), (45.0, 900.0), (55.0, 1100.0)] {
            assert!((shaft_tone_hz(speed, 10.0) - tone).abs() < 1e-9, "{speed}");
        }
    }

    #[test]
    fn level_grows_by_the_printed_decibels() {
        // +2.48 dB for 10 % more speed, 18.06 dB for twice the speed (derived).
        assert!((level_change_db(40.0, 44.0) - 2.48).abs() < 0.005);
        assert!((level_change_db(20.0, 40.0) - 18.06).abs() < 0.005);
        assert!((level_change_db(40.0, 40.0 * 1.039) - 1.0).abs() < 0.005);
    }
}
