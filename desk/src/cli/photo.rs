//! Options of `photo`.

use std::path::PathBuf;

use chalkface_core::face::photo::{FaceShape, Pixel};
use chalkface_core::model::{Day, Hand, Name, Place};
use clap::Args;

use super::{hand, name, place};

/// Options of `photo`.
#[derive(Debug, Args)]
pub struct Photo {
    /// The pictures: JPEG or PNG.
    #[arg(required = true, value_name = "IMG")]
    pub images: Vec<PathBuf>,
    /// The club and the handles.
    #[command(flatten)]
    pub face: FaceOptions,
    /// An earlier picture of the same coat of powder: marks that it doesn't have are new.
    #[arg(long, value_name = "EARLIER")]
    pub since: Option<PathBuf>,
    /// The four handles in the earlier picture, where they are to be set.
    #[arg(
        long, value_name = "\"HX,HY TX,TY CX,CY SX,SY\"", value_parser = handles, allow_hyphen_values = true,
        requires = "since"
    )]
    pub since_handles: Option<Handles>,
    /// Draw what was read on the picture: a .png; with one picture only.
    #[arg(long, value_name = "OUT.png")]
    pub overlay: Option<PathBuf>,
    /// Write the face laid flat, grey, two pixels a millimetre: a .png; with one picture only.
    #[arg(long, value_name = "OUT.png")]
    pub flat: Option<PathBuf>,
    /// Say how long each step took, in ms.
    #[arg(long)]
    pub times: bool,
}

/// Options of `record photo`.
#[derive(Debug, Args)]
pub struct RecordPhoto {
    /// The picture: JPEG or PNG. It stays where it is; a small one is kept.
    #[arg(value_name = "IMG")]
    pub image: PathBuf,
    /// The club and the handles.
    #[command(flatten)]
    pub face: FaceOptions,
    /// Whose; not needed where the book has one student.
    #[arg(long)]
    pub student: Option<String>,
    /// The session's label.
    #[arg(long, value_parser = name)]
    pub session: Option<Name>,
    /// What the club is called.
    #[arg(long, value_parser = name)]
    pub club: Option<Name>,
    /// The day; today if not given.
    #[arg(long, value_parser = Day::parse)]
    pub day: Option<Day>,
    /// Where.
    #[arg(long, value_parser = place)]
    pub place: Option<Place>,
    /// The face was sprayed anew: all its marks are new, whatever the day's last picture showed.
    #[arg(long)]
    pub fresh: bool,
    /// Leave a mark out: its number from the heel.
    #[arg(long, value_name = "NUMBER")]
    pub leave_out: Vec<usize>,
    /// Move a mark by hand: its number from the heel, then mm toward the toe and toward the crown.
    #[arg(long = "move", value_name = "NUMBER=TOE,HIGH", value_parser = moved, allow_hyphen_values = true)]
    pub moves: Vec<(usize, (f64, f64))>,
    /// Set a mark by hand: mm toward the toe, mm toward the crown.
    #[arg(long, value_name = "TOE,HIGH", value_parser = super::pair, allow_hyphen_values = true)]
    pub set: Vec<(f64, f64)>,
    /// Keep the marks of a picture that should be taken again.
    #[arg(long)]
    pub anyway: bool,
}

/// What is known of the face.
#[derive(Debug, Clone, Args)]
pub struct FaceOptions {
    /// The face's width and height along its centre lines, in mm, such as 118x58.
    #[arg(long, value_name = "WxH", value_parser = size)]
    pub face: Option<(f64, f64)>,
    /// The hand that the club is for.
    #[arg(long, value_parser = hand, default_value = "right")]
    pub hand: Hand,
    /// Where heel end, toe end, crown edge and sole edge are, in pixels of the upright picture.
    #[arg(long, value_name = "\"HX,HY TX,TY CX,CY SX,SY\"", value_parser = handles, allow_hyphen_values = true)]
    pub handles: Option<Handles>,
    /// Radius of the bulge, in mm; 305 if not given.
    #[arg(long, value_name = "MM")]
    pub bulge: Option<f64>,
    /// Radius of the roll, in mm; 305 if not given.
    #[arg(long, value_name = "MM")]
    pub roll: Option<f64>,
}

/// Four places.
pub type Handles = [Pixel; 4];

impl FaceOptions {
    /// The face's shape, and whether its size is assumed.
    pub fn shape(&self) -> (FaceShape, bool) {
        let usual = FaceShape::default();
        let (width_mm, height_mm) = self.face.unwrap_or((usual.width_mm, usual.height_mm));
        let shape = FaceShape {
            width_mm,
            height_mm,
            bulge_mm: self.bulge.unwrap_or(usual.bulge_mm),
            roll_mm: self.roll.unwrap_or(usual.roll_mm),
        };
        (shape, self.face.is_none())
    }
}

fn size(text: &str) -> Result<(f64, f64), String> {
    let number = |part: &str| part.trim().parse::<f64>().map_err(|_| format!("{part:?} is not a number"));
    let (width, height) =
        text.split_once(['x', 'X']).ok_or("width and height in mm with an x between, such as 118x58")?;
    Ok((number(width)?, number(height)?))
}

fn moved(text: &str) -> Result<(usize, (f64, f64)), String> {
    let (number, place) = text.split_once('=').ok_or("a number, = and a place, such as 2=-4,6")?;
    let number = number.trim().parse().map_err(|_| format!("{number:?} is not a mark's number"))?;
    Ok((number, super::pair(place)?))
}

fn handles(text: &str) -> Result<Handles, String> {
    let places: Vec<Pixel> = text
        .split_whitespace()
        .map(|place| super::pair(place).map(|(x, y)| Pixel { x, y }))
        .collect::<Result<_, _>>()?;
    <[Pixel; 4]>::try_from(places).map_err(|places| {
        format!("{} places instead of four: heel, toe, crown, sole, each as x,y", places.len())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_and_four_handles_are_read_and_others_are_explained() {
        assert_eq!(size("117.5x58"), Ok((117.5, 58.0)));
        assert!(size("118").is_err() && size("axb").is_err());
        let four = handles("1,2 3,4 5,6 7.5,8").unwrap();
        assert_eq!(four.map(|at| (at.x, at.y)), [(1.0, 2.0), (3.0, 4.0), (5.0, 6.0), (7.5, 8.0)]);
        assert!(handles("1,2 3,4").unwrap_err().contains("2 places"));
        assert_eq!(moved("2=-4,6.5"), Ok((2, (-4.0, 6.5))));
        assert!(moved("2").is_err() && moved("x=1,2").is_err() && moved("1=2").is_err());
    }
}
