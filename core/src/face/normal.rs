//! The standard normal distribution: chance below a point, and back.
//!
//! Invariant: the same bits on every device; only basic operations, `sqrt` and
//! `libm`. Start at [`normal_quantile`].
#![allow(clippy::excessive_precision, reason = "coefficients as published")]

/// Chance of a standard normal variable below `z`.
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z * core::f64::consts::FRAC_1_SQRT_2)
}

/// The point that a standard normal variable is below with chance `p`, to about
/// 1e-15 relative; infinite at 0 and 1.
///
/// Rational approximations of Wichura, algorithm AS 241, Applied Statistics 37,
/// 477, 1988 (coefficients from memory, checked against scipy).
pub fn normal_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        return q * ratio(r, &MIDDLE_ABOVE, &MIDDLE_BELOW);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    if tail <= 0.0 {
        return if q < 0.0 { f64::NEG_INFINITY } else { f64::INFINITY };
    }
    let r = (-libm::log(tail)).sqrt();
    let z = if r <= 5.0 {
        ratio(r - 1.6, &NEAR_ABOVE, &NEAR_BELOW)
    } else {
        ratio(r - 5.0, &FAR_ABOVE, &FAR_BELOW)
    };
    if q < 0.0 { -z } else { z }
}

fn ratio(r: f64, above: &[f64; 8], below: &[f64; 7]) -> f64 {
    let power = |sum: f64, c: &f64| sum * r + c;
    let bottom = below.iter().rev().fold(0.0, power) * r + 1.0;
    above.iter().rev().fold(0.0, power) / bottom
}

const MIDDLE_ABOVE: [f64; 8] = [
    3.387_132_872_796_366_608,
    1.331_416_678_917_843_774_5e2,
    1.971_590_950_306_551_442_7e3,
    1.373_169_376_550_946_112_5e4,
    4.592_195_393_154_987_145_7e4,
    6.726_577_092_700_870_085_3e4,
    3.343_057_558_358_812_810_5e4,
    2.509_080_928_730_122_672_7e3,
];
const MIDDLE_BELOW: [f64; 7] = [
    4.231_333_070_160_091_125_2e1,
    6.871_870_074_920_579_083e2,
    5.394_196_021_424_751_107_7e3,
    2.121_379_430_158_659_586_7e4,
    3.930_789_580_009_271_061e4,
    2.872_908_573_572_194_267_4e4,
    5.226_495_278_852_854_561e3,
];
const NEAR_ABOVE: [f64; 8] = [
    1.423_437_110_749_683_577_34,
    4.630_337_846_156_545_295_9,
    5.769_497_221_460_691_405_5,
    3.647_848_324_763_204_605_04,
    1.270_458_252_452_368_382_58,
    2.417_807_251_774_506_117_7e-1,
    2.272_384_498_926_918_458_33e-2,
    7.745_450_142_783_414_076_4e-4,
];
const NEAR_BELOW: [f64; 7] = [
    2.053_191_626_637_758_821_87,
    1.676_384_830_183_803_849_4,
    6.897_673_349_851_000_045_5e-1,
    1.481_039_764_274_800_745_9e-1,
    1.519_866_656_361_645_719_66e-2,
    5.475_938_084_995_344_946e-4,
    1.050_750_071_644_416_843_24e-9,
];
const FAR_ABOVE: [f64; 8] = [
    6.657_904_643_501_103_777_2,
    5.463_784_911_164_114_369_9,
    1.784_826_539_917_291_335_8,
    2.965_605_718_285_048_912_3e-1,
    2.653_218_952_657_612_309_3e-2,
    1.242_660_947_388_078_438_6e-3,
    2.711_555_568_743_487_578_15e-5,
    2.010_334_399_292_288_132_65e-7,
];
const FAR_BELOW: [f64; 7] = [
    5.998_322_065_558_879_376_9e-1,
    1.369_298_809_227_358_053_1e-1,
    1.487_536_129_085_061_485_25e-2,
    7.868_691_311_456_132_591e-4,
    1.846_318_317_510_054_681_8e-5,
    1.421_511_758_316_445_888_7e-7,
    2.044_263_103_389_939_785_64e-15,
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_quantile_turns_the_chance_round() {
        for step in 1..2_000 {
            let p = f64::from(step) / 2_000.0;
            assert!((normal_cdf(normal_quantile(p)) - p).abs() < 4e-15, "{p}");
        }
        for exponent in 4..300 {
            let p = libm::exp10(-f64::from(exponent));
            assert!((normal_cdf(normal_quantile(p)) / p - 1.0).abs() < 1e-11, "{p}");
        }
        assert!(normal_quantile(0.0) == f64::NEG_INFINITY && normal_quantile(1.0) == f64::INFINITY);
        // scipy.special.ndtri(0.975), 1.18.
        assert!((normal_quantile(0.975) - 1.959_963_984_540_054).abs() < 1e-15);
    }
}
