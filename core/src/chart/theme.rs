//! Colours for the roles: light, dark, full sun, and black-and-white print.
//!
//! Invariant: text roles stand at least 4.5 : 1 against paper and accents at
//! least 3 : 1 (WCAG 2.2, 1.4.3 and 1.4.11), in `Sun` everything but the grid at
//! least 7 : 1; `Print` has greys only. Tests measure it.
//!
//! Where to start: [`Theme::colour`].

use serde::{Deserialize, Serialize};

use super::scene::Role;

/// Where a scene will be seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Theme {
    /// On a light screen.
    Light,
    /// On a dark screen.
    Dark,
    /// On a screen in full sun.
    Sun,
    /// On black-and-white paper.
    Print,
}

/// A colour, sRGB.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Rgb(pub u8, pub u8, pub u8);

impl Rgb {
    /// As `#rrggbb`.
    pub fn hex(self) -> String {
        format!("#{:02x}{:02x}{:02x}", self.0, self.1, self.2)
    }
}

impl Theme {
    /// All themes.
    pub const ALL: [Self; 4] = [Self::Light, Self::Dark, Self::Sun, Self::Print];

    /// The colour of a role.
    pub const fn colour(self, role: Role) -> Rgb {
        const fn c(hex: u32) -> Rgb {
            Rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
        }
        let (light, dark, sun, print) = match role {
            Role::Paper => (0xfb_faf6, 0x15_1b21, 0xff_ffff, 0xff_ffff),
            Role::Ink => (0x1d_2733, 0xf1_eee6, 0x00_0000, 0x00_0000),
            Role::Muted => (0x5a_6570, 0xa9_b3bc, 0x2e_3339, 0x4a_4a4a),
            Role::Grid => (0xd8_d6cd, 0x37_414b, 0xb0_b4b8, 0xc4_c4c4),
            Role::Surface => (0xee_ece4, 0x22_2b34, 0xf2_f2ee, 0xf4_f4f4),
            Role::Flag => (0xb0_2318, 0xff_8f80, 0x8e_0c05, 0x00_0000),
            Role::AccentA => (0x0f_5b8f, 0x74_c0f0, 0x00_3a6b, 0x00_0000),
            Role::AccentB => (0xa8_5400, 0xf5_b25c, 0x6b_3200, 0x3a_3a3a),
            Role::AccentC => (0x2b_7a4b, 0x7f_d69e, 0x0b_4a26, 0x52_5252),
            Role::AccentD => (0x84_3f86, 0xd9_a2dc, 0x57_155a, 0x66_6666),
            Role::AccentE => (0x6a_6a1a, 0xd3_d077, 0x45_4500, 0x6e_6e6e),
            Role::AccentF => (0x6b_5b52, 0xc9_b8ac, 0x42_332a, 0x76_7676),
            Role::CodeDark => (0x00_0000, 0x00_0000, 0x00_0000, 0x00_0000),
            Role::CodeLight => (0xff_ffff, 0xff_ffff, 0xff_ffff, 0xff_ffff),
        };
        c(match self {
            Self::Light => light,
            Self::Dark => dark,
            Self::Sun => sun,
            Self::Print => print,
        })
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp, clippy::indexing_slicing)]
mod tests {
    use super::*;

    fn luminance(colour: Rgb) -> f64 {
        let part = |v: u8| {
            let v = f64::from(v) / 255.0;
            if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * part(colour.0) + 0.7152 * part(colour.1) + 0.0722 * part(colour.2)
    }

    fn contrast(theme: Theme, a: Role, b: Role) -> f64 {
        let (a, b) = (luminance(theme.colour(a)), luminance(theme.colour(b)));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    const ACCENTS: [Role; 6] =
        [Role::AccentA, Role::AccentB, Role::AccentC, Role::AccentD, Role::AccentE, Role::AccentF];

    #[test]
    fn text_and_accents_stand_out_from_paper_and_from_the_face() {
        for theme in Theme::ALL {
            for ground in [Role::Paper, Role::Surface] {
                for role in [Role::Ink, Role::Muted, Role::Flag] {
                    let least = if theme == Theme::Sun { 7.0 } else { 4.5 };
                    let seen = contrast(theme, role, ground);
                    assert!(seen >= least, "{theme:?} {role:?} on {ground:?}: {seen:.2}");
                }
                for role in ACCENTS {
                    let least = if theme == Theme::Sun { 7.0 } else { 3.0 };
                    let seen = contrast(theme, role, ground);
                    assert!(seen >= least, "{theme:?} {role:?} on {ground:?}: {seen:.2}");
                }
            }
        }
    }

    #[test]
    fn print_is_black_and_white() {
        for role in [Role::Paper, Role::Ink, Role::Flag, Role::Surface].into_iter().chain(ACCENTS) {
            let Rgb(r, g, b) = Theme::Print.colour(role);
            assert!(r == g && g == b, "{role:?}");
        }
    }
}
