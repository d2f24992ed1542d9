//! Numbers for the studies: the same every run, one source for all of them.

/// `SplitMix64` (Steele, Lea, Flood, OOPSLA 2014) and Box-Muller.
pub struct Dice(pub u64);

impl Dice {
    /// A number above 0 and below 1.
    pub fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        ((z >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    /// A number between two others.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// A standard normal number.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * f64::ln(self.uniform())).sqrt();
        radius * f64::cos(2.0 * core::f64::consts::PI * self.uniform())
    }
}
