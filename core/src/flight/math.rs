//! Functions that the physics needs beyond the basic operations, as our own
//! polynomials over [`Real`].
//!
//! The invariant: only operations of [`Real`] are used, in a fixed order, so
//! results don't depend on the platform or on how many shots run side by side.
//! Coefficients are interpolations at Chebyshev nodes computed with 40 digits;
//! the tests compare every function with the `libm` crate. Start at
//! [`pow_two_fifths`], the one that a flight spends most of its time in.

use super::real::Real;

/// Degrees to radians.
pub const RAD_PER_DEG: f64 = core::f64::consts::PI / 180.0;
/// Radians a second to revolutions a minute.
pub const RPM_PER_RADPS: f64 = 30.0 / core::f64::consts::PI;

/// `x` to the power 2/5 for positive normal `x`; relative error below 1e-12.
///
/// Mantissa and exponent are raised apart. Two fifths of a whole exponent has
/// one of only five fractional parts, so a quartic through five points is exact there.
#[inline(always)]
#[allow(clippy::excessive_precision, reason = "coefficients as computed")]
pub fn pow_two_fifths<R: Real>(x: R) -> R {
    let (mantissa, exponent) = x.split();
    let u = mantissa.plus(-1.5);
    let u2 = u * u;
    let u4 = u2 * u2;
    let u8 = u4 * u4;
    let c01 = u.times(0.313_621_072_673_419_8).plus(1.176_079_022_524_387_6);
    let c23 = u.times(0.022_301_942_877_693_565).plus(-0.062_724_214_422_667_98);
    let c45 = u.times(0.004_638_808_460_801_165).plus(-0.009_664_182_408_541_012);
    let c67 = u.times(0.001_264_400_780_982_089).plus(-0.002_370_774_810_792_164);
    let c89 = u.times(0.000_392_683_384_677_009_33).plus(-0.000_697_381_824_309_823_2);
    let c1011 = u.times(0.000_124_031_405_003_353_13).plus(-0.000_213_637_905_669_890_85);
    let c1213 = u.times(6.367_218_189_558_343e-5).plus(-0.000_106_481_612_423_400_73);
    let c0_3 = c01 + c23 * u2;
    let c4_7 = c45 + c67 * u2;
    let c8_11 = c89 + c1011 * u2;
    let of_mantissa = (c0_3 + c4_7 * u4) + (c8_11 + c1213 * u4) * u8;

    let two_fifths = exponent.times(0.4);
    let whole = two_fifths.nearest();
    let f = two_fifths - whole;
    let f2 = f * f;
    let of_fraction = (f.times(0.693_138_627_537_329_9).plus(1.0))
        + (f.times(0.055_771_292_873_682_11).plus(0.240_225_519_440_055_24)) * f2
        + (f2 * f2).times(0.009_648_980_610_852);
    of_mantissa * of_fraction * R::two_to_whole(whole)
}

/// sin(pi z) for |z| <= 0.6; absolute error below 1e-14.
#[inline(always)]
pub fn sin_pi<R: Real>(z: R) -> R {
    let q = z * z;
    let q2 = q * q;
    let q4 = q2 * q2;
    let c01 = q.times(-5.167_712_780_047_634).plus(3.141_592_653_589_786_5);
    let c23 = q.times(-0.599_264_526_289_908).plus(2.550_164_039_741_066);
    let c45 = q.times(-0.007_370_234_238_520_008).plus(0.082_145_853_491_126_53);
    let c67 = q.times(-2.079_807_632_482_242e-5).plus(0.000_465_654_494_812_207_7);
    z * ((c01 + c23 * q2) + (c45 + c67 * q2) * q4)
}

/// Sine and cosine of an angle in radians, |angle| <= pi/2; absolute error below 5e-16.
#[inline(always)]
pub fn sin_cos<R: Real>(angle: R) -> (R, R) {
    // At half the angle the polynomials are short and need no cases.
    let half = angle.times(0.5);
    let q = half * half;
    let q2 = q * q;
    let q4 = q2 * q2;
    let s01 = q.times(-0.166_666_666_666_666_66).plus(1.0);
    let s23 = q.times(-0.000_198_412_698_412_534_78).plus(0.008_333_333_333_333_321);
    let s45 = q.times(-2.505_210_477_909_504_3e-8).plus(2.755_731_921_356_222_5e-6);
    let s67 = q.times(-7.578_090_160_922_686e-13).plus(1.605_835_242_887_125_5e-10);
    let s = half * ((s01 + s23 * q2) + (s45 + s67 * q2) * q4);
    let c01 = q.times(-0.5).plus(1.0);
    let c23 = q.times(-0.001_388_888_888_886_109_5).plus(0.041_666_666_666_666_45);
    let c45 = q.times(-2.755_731_309_779_008_6e-7).plus(2.480_158_728_388_105_2e-5);
    let c67 = q.times(-1.135_337_963_829_757_5e-11).plus(2.087_558_238_066_395_2e-9);
    let c = (c01 + c23 * q2) + (c45 + c67 * q2) * q4;
    ((s * c).times(2.0), R::splat(1.0) - (s * s).times(2.0))
}

/// Angle of the point (`x`, `y`) from the x axis, radians, in -pi..=pi;
/// absolute error below 1e-15. Zero at the origin.
#[inline(always)]
pub fn atan2<R: Real>(y: R, x: R) -> R {
    const TAN_PI_8: f64 = 0.414_213_562_373_095_03;
    let zero = R::splat(0.0);
    let (ax, ay) = (x.abs(), y.abs());
    let steep = ax.lt(ay);
    let large = R::select(steep, ay, ax);
    let small = R::select(steep, ax, ay);
    // Above pi/8 turn by pi/4, which keeps the polynomial's argument small.
    let turn = large.times(TAN_PI_8).lt(small);
    let over = R::select(turn, small - large, small);
    let under = R::select(turn, small + large, large);
    let none = !zero.lt(under);
    let t = over / R::select(none, R::splat(1.0), under);
    let q = t * t;
    let q2 = q * q;
    let q4 = q2 * q2;
    let c01 = q.times(-0.333_333_333_333_284_35).plus(1.0);
    let c23 = q.times(-0.142_857_141_809_005_08).plus(0.199_999_999_988_541_65);
    let c45 = q.times(-0.090_907_730_031_107_65).plus(0.111_111_061_773_696_28);
    let c67 = q.times(-0.066_402_251_576_268_01).plus(0.076_899_524_864_010_89);
    let c89 = q.times(-0.043_479_195_985_206_505).plus(0.056_883_033_203_692_34);
    let poly =
        (c01 + c23 * q2) + (c45 + c67 * q2) * q4 + (c89 + q2.times(0.021_133_749_088_344_842)) * (q4 * q4);
    let base = t * poly;
    let eighth = R::select(turn, base.plus(core::f64::consts::FRAC_PI_4), base);
    let quarter = R::select(steep, R::splat(core::f64::consts::FRAC_PI_2) - eighth, eighth);
    let half = R::select(x.lt(zero), R::splat(core::f64::consts::PI) - quarter, quarter);
    R::select(y.lt(zero), -half, half)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::float_cmp, reason = "exact by construction")]

    use super::super::real::Lanes;
    use super::*;

    fn sweep(low: f64, high: f64) -> impl Iterator<Item = f64> {
        (0..=20_000).map(move |i| low + (high - low) * f64::from(i) / 20_000.0)
    }

    #[test]
    fn the_two_fifths_power_agrees_with_libm_over_every_spin_ratio_a_ball_can_have() {
        for power in sweep(-40.0, 40.0) {
            let x = libm::exp2(power);
            let (got, want) = (pow_two_fifths(x), libm::pow(x, 0.4));
            assert!((got / want - 1.0).abs() < 1e-12, "{x}: {got} against {want}");
        }
    }

    #[test]
    fn sines_and_cosines_agree_with_libm() {
        for z in sweep(-0.6, 0.6) {
            assert!((sin_pi(z) - libm::sin(z * core::f64::consts::PI)).abs() < 1e-14, "{z}");
        }
        for a in sweep(-core::f64::consts::FRAC_PI_2, core::f64::consts::FRAC_PI_2) {
            let (s, c) = sin_cos(a);
            assert!((s - libm::sin(a)).abs() < 5e-16 && (c - libm::cos(a)).abs() < 5e-16, "{a}");
        }
    }

    #[test]
    fn the_angle_of_a_point_agrees_with_libm_all_the_way_round() {
        for a in sweep(-core::f64::consts::PI, core::f64::consts::PI) {
            let (y, x) = (3.7 * libm::sin(a), 3.7 * libm::cos(a));
            let (got, want) = (atan2(y, x), libm::atan2(y, x));
            assert!((got - want).abs() < 1e-15, "{a}: {got} against {want}");
        }
        assert_eq!(atan2(0.0, 0.0), 0.0);
        assert_eq!(atan2(0.0, -2.0), core::f64::consts::PI);
    }

    #[test]
    fn four_lanes_give_the_same_bits_as_one() {
        for i in sweep(0.01, 1.5) {
            let four = [i, i * 0.7, i * 0.3, i * 0.9];
            let lanes = Lanes(four);
            let pairs = [
                (pow_two_fifths(lanes), four.map(pow_two_fifths)),
                (sin_cos(lanes).0, four.map(|x| sin_cos(x).0)),
                (sin_cos(lanes).1, four.map(|x| sin_cos(x).1)),
                (atan2(lanes, Lanes([0.3; 4])), four.map(|x| atan2(x, 0.3))),
            ];
            for (many, one) in pairs {
                assert_eq!(many.0.map(f64::to_bits), one.map(f64::to_bits));
            }
        }
    }
}
