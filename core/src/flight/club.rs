//! A club as the impact sees it: plain numbers, a default and their limits.
//!
//! The invariant: a [`Head`] can only come from a [`Club`] whose numbers were
//! checked, so the impact never meets a massless or NaN club. Clubs outside the
//! Equipment Rules are refused by [`Club::conforming`] and computed with
//! warnings by [`Club::any`]. Start at [`Club`].

use serde::{Deserialize, Serialize};

use super::error::{Breach, FlightError, Limits};

/// Longest club but a putter, m: 48 in (Equipment Rules; sources.md R6, status L).
pub const LONGEST_CLUB_M: f64 = 1.219_2;
/// Shortest club, m: 18 in (sources.md R6, status L2).
pub const SHORTEST_CLUB_M: f64 = 0.457_2;
/// Longest club under Model Local Rule G-10, m: 46 in (sources.md R7, status L2).
pub const LOCAL_RULE_LENGTH_M: f64 = 1.168_4;
/// Highest moment of inertia about the vertical axis with its tolerance, g cm2 (sources.md R10, status L).
pub const HIGHEST_INERTIA_GCM2: f64 = 6_000.0;
/// Longest head heel to toe, mm (sources.md R9, status L).
pub const WIDEST_HEAD_MM: f64 = 127.0;
/// Tallest head sole to crown, mm (sources.md R9, status L).
pub const TALLEST_HEAD_MM: f64 = 71.12;

/// A club's build.
///
/// Axes of the head: n out of the face, u up the face, t toward the toe.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Club {
    /// Length by the Equipment Rules' method, m. Default 45.5 in (common practice, no source).
    pub length_m: f64,
    /// Loft built into the head, deg. Default 9.8 (sources.md I6, status L).
    pub loft_deg: f64,
    /// Mass of the head, kg. Default 0.204 (I6, L).
    pub head_mass_kg: f64,
    /// Mass of shaft that takes part in the impact, kg. Default 0.003 (I9, L).
    pub shaft_share_kg: f64,
    /// Width of the face, mm. Default 118 (common practice, no source).
    pub face_width_mm: f64,
    /// Height of the face, mm. Default 58 (common practice, no source).
    pub face_height_mm: f64,
    /// Radius of the bulge, heel to toe, mm. Default 305 (I6, L).
    pub bulge_mm: f64,
    /// Radius of the roll, sole to crown, mm. Default 305 (status M).
    pub roll_mm: f64,
    /// Moment of inertia about n, g cm2. Default 2843 (I6, L).
    pub inertia_normal_gcm2: f64,
    /// Moment of inertia about u, g cm2. Default 5679 (I6, L).
    pub inertia_up_gcm2: f64,
    /// Moment of inertia about t, g cm2. Default 4085 (I6, L).
    pub inertia_toe_gcm2: f64,
    /// Depth of the balance point behind the face centre, mm. Default 42.3 (I6, L).
    pub balance_depth_mm: f64,
    /// Balance point toward the crown from the face centre, mm. Default 2.9 (I6, L).
    pub balance_up_mm: f64,
    /// Balance point toward the toe, mm. Default 0: the published 1 mm has no readable sign (I6).
    pub balance_toe_mm: f64,
    /// Restitution at [`Self::restitution_speed_mps`] along the face normal. Default 0.83 (I6, L).
    pub restitution: f64,
    /// Normal speed that the restitution belongs to, m/s. Default 48.77, 160 ft/s (sources.md 2.3).
    pub restitution_speed_mps: f64,
    /// Fall of the restitution with normal speed, s/m. Default 0.002 (2.3, fitted to I8).
    pub restitution_fall_spm: f64,
    /// Fall of the restitution with the square of the distance from the face
    /// centre, 1/m2. Default 0: no published value was found.
    pub restitution_fall_pm2: f64,
    /// Tangential restitution while the ball sticks. Default -0.10 (7.1, fitted to R14 and I9).
    pub tangential_restitution: f64,
    /// Lag of the squashed ball's centre, in ball radii for each unit of
    /// tangential over normal speed. Default 0.06 (7.1, fitted to R14 and I9).
    pub ball_lag: f64,
    /// Friction between ball and dry face. Default 0.40 (I20, status M).
    pub friction: f64,
    /// Friction between ball and powdered face. Default 0.15: the middle of
    /// 0.1..0.2 for wet or grassy faces (I20, status M), assumed to hold for powder.
    pub friction_powdered: f64,
}

impl Default for Club {
    fn default() -> Self {
        Self {
            length_m: 45.5 * 0.0254,
            loft_deg: 9.8,
            head_mass_kg: 0.204,
            shaft_share_kg: 0.003,
            face_width_mm: 118.0,
            face_height_mm: 58.0,
            bulge_mm: 305.0,
            roll_mm: 305.0,
            inertia_normal_gcm2: 2843.0,
            inertia_up_gcm2: 5679.0,
            inertia_toe_gcm2: 4085.0,
            balance_depth_mm: 42.3,
            balance_up_mm: 2.9,
            balance_toe_mm: 0.0,
            restitution: 0.83,
            restitution_speed_mps: 48.77,
            restitution_fall_spm: 0.002,
            restitution_fall_pm2: 0.0,
            tangential_restitution: -0.10,
            ball_lag: 0.06,
            friction: 0.40,
            friction_powdered: 0.15,
        }
    }
}

/// The state of the face, which sets the friction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Face {
    /// Clean and dry; also what is taken where nothing is said.
    #[default]
    Dry,
    /// Powdered to show strike marks.
    Powdered,
}

const CHECK_UNIT: &str = "check the unit";

macro_rules! limits {
    ($what:literal, $unit:literal, $low:expr, $high:expr, $reason:literal) => {
        Limits { what: $what, unit: $unit, low: $low, high: $high, reason: $reason, remedy: CHECK_UNIT }
    };
}

impl Club {
    /// The head, if the club is possible and within the Equipment Rules.
    ///
    /// # Errors
    /// [`FlightError::OutOfRange`] for an impossible number,
    /// [`FlightError::NonConforming`] for a club that the Rules exclude.
    pub fn conforming(&self) -> Result<Head, FlightError> {
        self.check()?;
        match self.breaches().find(|b| b.always()) {
            Some(breach) => Err(FlightError::NonConforming(breach)),
            None => Ok(Head::of(self)),
        }
    }

    /// The head of any possible club, with what the Rules say against it.
    ///
    /// # Errors
    /// [`FlightError::OutOfRange`] for an impossible number.
    pub fn any(&self) -> Result<(Head, Vec<Breach>), FlightError> {
        self.check()?;
        Ok((Head::of(self), self.breaches().collect()))
    }

    /// What the Equipment Rules, or an option of them, say against this club.
    pub fn breaches(&self) -> impl Iterator<Item = Breach> + use<> {
        let length_m = self.length_m;
        let (width_mm, height_mm) = (self.face_width_mm, self.face_height_mm);
        let inertia_gcm2 = self.inertia_up_gcm2;
        [
            (length_m > LONGEST_CLUB_M).then_some(Breach::TooLong { length_m }),
            (length_m < SHORTEST_CLUB_M).then_some(Breach::TooShort { length_m }),
            (length_m > LOCAL_RULE_LENGTH_M && length_m <= LONGEST_CLUB_M)
                .then_some(Breach::LocalRuleLength { length_m }),
            (inertia_gcm2 > HIGHEST_INERTIA_GCM2).then_some(Breach::Inertia { inertia_gcm2 }),
            (width_mm > WIDEST_HEAD_MM).then_some(Breach::FaceWidth { width_mm }),
            (height_mm > TALLEST_HEAD_MM).then_some(Breach::FaceHeight { height_mm }),
        ]
        .into_iter()
        .flatten()
    }

    /// Friction of the face in its state.
    pub fn friction_of(&self, face: Face) -> f64 {
        match face {
            Face::Dry => self.friction,
            Face::Powdered => self.friction_powdered,
        }
    }

    fn check(&self) -> Result<(), FlightError> {
        let radius = |what| Limits {
            what,
            ..limits!("", "mm", 80.0, f64::INFINITY, "below 80 mm a face is a ball; infinite is flat")
        };
        let inertia = |what| Limits {
            what,
            ..limits!(
                "",
                "g cm2",
                200.0,
                20_000.0,
                "from a wooden iron-sized head to three times the legal driver"
            )
        };
        let offset = |what| Limits { what, ..limits!("", "mm", -40.0, 40.0, "inside a head") };
        let friction =
            |what| Limits { what, ..limits!("", "", 0.0, 1.5, "golf balls on steel slide at 0.1 to 0.5") };
        for (limits, value) in [
            (limits!("club length", "m", 0.3, 2.0, "shorter or longer can't be swung"), self.length_m),
            (
                limits!("loft", "deg", -5.0, 75.0, "from a long-drive head to the most lofted wedge"),
                self.loft_deg,
            ),
            (limits!("head mass", "kg", 0.05, 0.5, "heads weigh 0.19 to 0.31 kg"), self.head_mass_kg),
            (limits!("shaft share", "kg", 0.0, 0.1, "a whole shaft weighs less"), self.shaft_share_kg),
            (limits!("face width", "mm", 20.0, 200.0, "faces are 60 to 127 mm wide"), self.face_width_mm),
            (limits!("face height", "mm", 15.0, 120.0, "faces are 30 to 71 mm high"), self.face_height_mm),
            (radius("bulge radius"), self.bulge_mm),
            (radius("roll radius"), self.roll_mm),
            (inertia("moment of inertia about the face normal"), self.inertia_normal_gcm2),
            (inertia("moment of inertia about the axis up the face"), self.inertia_up_gcm2),
            (inertia("moment of inertia about the toe axis"), self.inertia_toe_gcm2),
            (limits!("balance point depth", "mm", 0.0, 100.0, "inside a head"), self.balance_depth_mm),
            (offset("balance point height"), self.balance_up_mm),
            (offset("balance point toward the toe"), self.balance_toe_mm),
            (
                limits!(
                    "restitution",
                    "",
                    0.0,
                    0.95,
                    "no face returns more; the rule makers' limit is 0.822"
                ),
                self.restitution,
            ),
            (
                limits!("speed of the restitution", "m/s", 0.0, 100.0, "speeds that balls are struck at"),
                self.restitution_speed_mps,
            ),
            (
                limits!(
                    "fall of the restitution with speed",
                    "s/m",
                    0.0,
                    0.02,
                    "published: 0.0029 on a rigid plate"
                ),
                self.restitution_fall_spm,
            ),
            (
                limits!(
                    "fall of the restitution off centre",
                    "1/m2",
                    0.0,
                    200.0,
                    "0.2 at 30 mm off the centre"
                ),
                self.restitution_fall_pm2,
            ),
            (
                limits!("tangential restitution", "", -1.0, 1.0, "-1 is frictionless, 1 a perfect bounce"),
                self.tangential_restitution,
            ),
            (limits!("ball lag", "", 0.0, 0.5, "the ball's centre stays inside it"), self.ball_lag),
            (friction("friction"), self.friction),
            (friction("friction with powder"), self.friction_powdered),
        ] {
            limits.check(value)?;
        }
        Ok(())
    }
}

/// A checked club in SI units, ready for the impact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Head {
    pub(super) club: Club,
    /// Head and its share of the shaft, kg.
    pub(super) mass_kg: f64,
    /// 1/I about n, u, t, 1/(kg m2).
    pub(super) inverse_inertia: [f64; 3],
    /// Balance point from the face centre along n, u, t, m.
    pub(super) balance_m: [f64; 3],
    /// Curvatures heel to toe and sole to crown, 1/m.
    pub(super) curvature: [f64; 2],
}

impl Head {
    fn of(club: &Club) -> Self {
        const KGM2_PER_GCM2: f64 = 1e-7;
        let inverse = |gcm2: f64| 1.0 / (gcm2 * KGM2_PER_GCM2);
        Self {
            club: *club,
            mass_kg: club.head_mass_kg + club.shaft_share_kg,
            inverse_inertia: [
                inverse(club.inertia_normal_gcm2),
                inverse(club.inertia_up_gcm2),
                inverse(club.inertia_toe_gcm2),
            ],
            balance_m: [-club.balance_depth_mm * 1e-3, club.balance_up_mm * 1e-3, club.balance_toe_mm * 1e-3],
            curvature: [1e3 / club.bulge_mm, 1e3 / club.roll_mm],
        }
    }

    /// The club that this head belongs to.
    pub fn club(&self) -> &Club {
        &self.club
    }

    /// The same head with its moments of inertia times a factor: a shaft that
    /// resists the head's turn works like a factor above 1 (sources.md 9, I10).
    #[must_use]
    pub fn with_inertia_times(&self, factor: f64) -> Self {
        Self { inverse_inertia: self.inverse_inertia.map(|x| x / factor), ..*self }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_default_club_is_possible_and_within_the_rules() {
        assert!(Club::default().conforming().is_ok());
        assert!(Club::default().any().unwrap().1.is_empty());
    }

    #[test]
    fn a_club_outside_the_rules_is_refused_with_the_limit_or_computed_with_a_warning() {
        // sources.md R6, R10 (status L).
        let long = Club { length_m: 49.0 * 0.0254, ..Club::default() };
        let said = long.conforming().unwrap_err().to_string();
        assert!(said.contains("48 in") && said.contains("Equipment Rules"), "{said}");
        assert!(matches!(long.any().unwrap().1.as_slice(), [Breach::TooLong { .. }]));
        let heavy = Club { inertia_up_gcm2: 6000.5, ..Club::default() };
        assert!(matches!(heavy.conforming(), Err(FlightError::NonConforming(Breach::Inertia { .. }))));
        assert!(Club { inertia_up_gcm2: 6000.0, ..Club::default() }.conforming().is_ok());
    }

    #[test]
    fn between_46_and_48_inches_a_club_is_allowed_and_flagged() {
        // sources.md R7 (status L2): an option for committees, not an error.
        let club = Club { length_m: 47.0 * 0.0254, ..Club::default() };
        assert!(club.conforming().is_ok());
        assert!(matches!(club.any().unwrap().1.as_slice(), [Breach::LocalRuleLength { .. }]));
    }

    #[test]
    fn a_club_that_can_not_exist_is_refused_whatever_the_rules_say() {
        for bad in [f64::NAN, -0.2, 0.0, f64::INFINITY] {
            let said = Club { head_mass_kg: bad, ..Club::default() }.any().unwrap_err().to_string();
            assert!(said.contains("head mass") && said.contains("0.05 to 0.5 kg"), "{said}");
        }
        assert!(Club { bulge_mm: f64::INFINITY, ..Club::default() }.any().is_ok(), "a flat face is possible");
    }
}
