//! Why a picture can't be read at all.
//!
//! Every text says what is wrong and what to do. What is wrong with a picture
//! that can be decoded, but shows the face badly, is no error: see `quality`.

/// Why a picture, or what came with it, can't be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PhotoError {
    /// No bytes.
    #[error("the file is empty; choose a picture as JPEG or PNG")]
    Empty,
    /// Bytes of no known picture format.
    #[error("this is no picture that can be read; choose one as JPEG or PNG")]
    NotAPicture,
    /// A picture of another format.
    #[error("this is a picture as {format}; {todo}")]
    OtherFormat {
        /// What it is.
        format: &'static str,
        /// What to do about it.
        todo: &'static str,
    },
    /// The bytes begin as a picture and don't go on as one.
    #[error("the picture is damaged or cut short ({what}); copy it again from where it was taken")]
    Damaged {
        /// What the decoder met.
        what: String,
    },
    /// Colours for print.
    #[error("the picture has colours for print (CMYK); save it with screen colours (RGB)")]
    PrintColours,
    /// A moving picture.
    #[error("the picture moves; choose a still one")]
    Animated,
    /// More pixels than are decoded.
    #[error(
        "the picture has {width} x {height} pixels; at most {most} are read, with sides up to {side}: take or \
         save it with fewer, 12 megapixels are plenty"
    )]
    TooLarge {
        /// Pixels across, as stored.
        width: u64,
        /// Pixels down, as stored.
        height: u64,
        /// The most pixels.
        most: u64,
        /// The longest side.
        side: u64,
    },
    /// Fewer pixels than show a mark.
    #[error(
        "the picture has {width} x {height} pixels, too few to show a mark; take one of at least {least} x {least}"
    )]
    TooSmall {
        /// Pixels across, as stored.
        width: u64,
        /// Pixels down, as stored.
        height: u64,
        /// The shortest side that is read.
        least: u64,
    },
    /// A size of the face that no driver has.
    #[error("the face's {field} is {value} mm; it must be a number from {low} to {high} mm")]
    Size {
        /// Width, height, bulge or roll.
        field: &'static str,
        /// What was given.
        value: f64,
        /// The smallest allowed.
        low: f64,
        /// The largest allowed.
        high: f64,
    },
    /// A handle that isn't on the picture.
    #[error(
        "the {handle} handle lies at {x}, {y}, outside the picture of {width} x {height} pixels; move it onto \
         the face's outline"
    )]
    Outside {
        /// Which one.
        handle: &'static str,
        /// Pixels from the left.
        x: f64,
        /// Pixels from the top.
        y: f64,
        /// The upright picture's width.
        width: u64,
        /// The upright picture's height.
        height: u64,
    },
    /// Handles that lie on top of each other or on a line.
    #[error(
        "the handles lie on a line or too close together to be a face; put them on the heel end, toe end, crown \
         edge and sole edge"
    )]
    Flat,
    /// Lines between the handles that don't cross within them.
    #[error(
        "the line from heel to toe does not cross the one from crown to sole between the handles; they are given \
         in the order heel, toe, crown, sole"
    )]
    Crossed,
    /// Handles that show the face of a player of the other hand.
    #[error(
        "the handles show a face for the {seen} hand, not for the {said} one: heel and toe, or crown and sole, \
         are swapped, the picture is mirrored, or the hand is wrong"
    )]
    OtherHand {
        /// The hand that the handles show.
        seen: &'static str,
        /// The hand that was given.
        said: &'static str,
    },
    /// Handles that no view of such a face has.
    #[error(
        "no view of a {width_mm} x {height_mm} mm face has its handles there; check them, and the face's width \
         and height"
    )]
    NoPose {
        /// The face's width.
        width_mm: f64,
        /// The face's height.
        height_mm: f64,
    },
    /// Nothing looks like a powdered face, and no handles were given.
    #[error(
        "no powdered face was found in the picture: spray it, or give the four handles (heel, toe, crown, sole)"
    )]
    NoFace,
    /// A face is seen that reaches over the picture's edge.
    #[error("a part of the face lies outside the picture: go back a little and take it again")]
    CutOff,
}
