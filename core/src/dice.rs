//! Numbers for the tests' simulations: the same every run. One source for all of them.

/// `SplitMix64` (Steele, Lea, Flood, OOPSLA 2014) and Box-Muller.
pub struct Dice(u64);

impl Dice {
    /// Numbers of a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x2545_f491_4f6c_dd1d))
    }

    /// Numbers from a state, as it is.
    pub fn at(state: u64) -> Self {
        Self(state)
    }

    /// A number above 0 and below 1.
    pub fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        ((z >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    /// A standard normal number.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * libm::log(self.uniform())).sqrt();
        radius * libm::cos(2.0 * core::f64::consts::PI * self.uniform())
    }

    /// Student t with 4 degrees of freedom, scaled to variance 1.
    pub fn heavy(&mut self) -> f64 {
        let chi = -2.0 * libm::log(self.uniform() * self.uniform());
        self.normal() / (chi / 4.0).sqrt() / 2.0_f64.sqrt()
    }
}
