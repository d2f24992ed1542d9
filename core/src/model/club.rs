//! A driver's build. What a club's record doesn't say is taken from the
//! published default head of `flight`, and every result then says so.

use serde::{Deserialize, Serialize};

use super::check::Refusal;
use super::fields::Fields;
use super::quantity::{
    BalanceDepth, BalanceOffset, ClubLength, FaceHeight, FaceRadius, FaceWidth, HeadMass, High, Inertia,
    Loft, Toe,
};
use super::record::{Kind, Record, need_name, quantity};
use super::text::Name;

/// Width of a driver's face where a club doesn't say (common practice, no source).
pub const DEFAULT_FACE_WIDTH_MM: f64 = 118.0;
/// Height of a driver's face where a club doesn't say (common practice, no source).
pub const DEFAULT_FACE_HEIGHT_MM: f64 = 58.0;

/// A driver, as far as it is known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Club {
    /// What the player calls it.
    pub name: Name,
    /// Length, by the Equipment Rules' method.
    pub length_m: Option<ClubLength>,
    /// Loft built in.
    pub loft_deg: Option<Loft>,
    /// Mass of the head.
    pub head_mass_kg: Option<HeadMass>,
    /// Width of the face, heel end to toe end.
    pub face_width_mm: Option<FaceWidth>,
    /// Height of the face, sole edge to crown edge.
    pub face_height_mm: Option<FaceHeight>,
    /// Radius of the bulge, heel to toe.
    pub bulge_mm: Option<FaceRadius>,
    /// Radius of the roll, sole to crown.
    pub roll_mm: Option<FaceRadius>,
    /// Moment of inertia about the axis out of the face.
    pub inertia_normal_gcm2: Option<Inertia>,
    /// Moment of inertia about the axis up the face.
    pub inertia_up_gcm2: Option<Inertia>,
    /// Moment of inertia about the axis toward the toe.
    pub inertia_toe_gcm2: Option<Inertia>,
    /// Balance point: behind the face centre.
    pub balance_depth_mm: Option<BalanceDepth>,
    /// Balance point: toward the crown from the face centre.
    pub balance_up_mm: Option<BalanceOffset>,
    /// Balance point: toward the toe from the face centre.
    pub balance_toe_mm: Option<BalanceOffset>,
}

impl Club {
    /// A club of which only the name is known.
    pub fn named(name: Name) -> Self {
        Self {
            name,
            length_m: None,
            loft_deg: None,
            head_mass_kg: None,
            face_width_mm: None,
            face_height_mm: None,
            bulge_mm: None,
            roll_mm: None,
            inertia_normal_gcm2: None,
            inertia_up_gcm2: None,
            inertia_toe_gcm2: None,
            balance_depth_mm: None,
            balance_up_mm: None,
            balance_toe_mm: None,
        }
    }

    /// Width and height of the face in mm, and whether both are this club's own.
    pub fn face_mm(&self) -> (f64, f64, bool) {
        (
            self.face_width_mm.map_or(DEFAULT_FACE_WIDTH_MM, FaceWidth::mm),
            self.face_height_mm.map_or(DEFAULT_FACE_HEIGHT_MM, FaceHeight::mm),
            self.face_width_mm.is_some() && self.face_height_mm.is_some(),
        )
    }

    /// Whether a strike lies on this club's face.
    ///
    /// The face is taken as the ellipse through the ends of its centre lines;
    /// the true outline is a little wider at the corners, so the ellipse is
    /// widened by 5 % before a strike is called off the face.
    pub fn has_on_face(&self, toe: Toe, high: High) -> bool {
        let (width, height, _) = self.face_mm();
        on_ellipse(toe, high, width, height)
    }
}

/// Whether a strike lies on a face of the default size.
pub fn on_default_face(toe: Toe, high: High) -> bool {
    on_ellipse(toe, high, DEFAULT_FACE_WIDTH_MM, DEFAULT_FACE_HEIGHT_MM)
}

/// Whether a strike lies on a face of that size; see [`Club::has_on_face`].
pub fn on_ellipse(toe: Toe, high: High, width_mm: f64, height_mm: f64) -> bool {
    const WIDER: f64 = 1.05;
    let x = toe.mm() / (width_mm / 2.0 * WIDER);
    let y = high.mm() / (height_mm / 2.0 * WIDER);
    x * x + y * y <= 1.0
}

impl Record for Club {
    const KIND: Kind = Kind::CLUB;

    fn to_fields(&self) -> Fields {
        let mut f = Fields::new();
        f.put(1, Some(self.name.as_str()));
        f.put(2, self.length_m.map(f64::from));
        f.put(3, self.loft_deg.map(f64::from));
        f.put(4, self.head_mass_kg.map(f64::from));
        f.put(5, self.face_width_mm.map(f64::from));
        f.put(6, self.face_height_mm.map(f64::from));
        f.put(7, self.bulge_mm.map(f64::from));
        f.put(8, self.roll_mm.map(f64::from));
        f.put(9, self.inertia_normal_gcm2.map(f64::from));
        f.put(10, self.inertia_up_gcm2.map(f64::from));
        f.put(11, self.inertia_toe_gcm2.map(f64::from));
        f.put(12, self.balance_depth_mm.map(f64::from));
        f.put(13, self.balance_up_mm.map(f64::from));
        f.put(14, self.balance_toe_mm.map(f64::from));
        f
    }

    fn from_fields(f: &Fields) -> Result<Self, Refusal> {
        Ok(Self {
            name: need_name(f, 1)?,
            length_m: quantity(f, 2)?,
            loft_deg: quantity(f, 3)?,
            head_mass_kg: quantity(f, 4)?,
            face_width_mm: quantity(f, 5)?,
            face_height_mm: quantity(f, 6)?,
            bulge_mm: quantity(f, 7)?,
            roll_mm: quantity(f, 8)?,
            inertia_normal_gcm2: quantity(f, 9)?,
            inertia_up_gcm2: quantity(f, 10)?,
            inertia_toe_gcm2: quantity(f, 11)?,
            balance_depth_mm: quantity(f, 12)?,
            balance_up_mm: quantity(f, 13)?,
            balance_toe_mm: quantity(f, 14)?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strike_beyond_this_clubs_face_is_valid_but_not_on_it() {
        let club = Club::named(Name::new("Driver").unwrap());
        let on = |x, y| club.has_on_face(Toe::new(x).unwrap(), High::new(y).unwrap());
        assert!(on(0.0, 0.0) && on(55.0, 0.0) && on(-20.0, 25.0));
        assert!(!on(63.0, 0.0) && !on(50.0, 30.0) && !on(0.0, 35.0));
    }
}
