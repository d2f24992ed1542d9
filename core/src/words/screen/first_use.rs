//! Words of first use, and of a book that can't be opened.

/// Its title.
pub const TITLE: &str = "Chalkface";
/// What it is.
pub const ABOUT: &str = "Strike marks, flights and drills, shared by a student and a coach. Everything stays on this device until you hand a file over yourself.";
/// Who you are.
pub const ROLE: &str = "You are";
/// The roles.
pub const STUDENT: &str = "A student";
/// The roles.
pub const COACH: &str = "A coach";
/// Your name.
pub const NAME: &str = "Your name";
/// Under it.
pub const NAME_HINT: &str = "As the other one knows you.";
/// The hand you play from.
pub const HAND: &str = "You play";
/// The hands.
pub const RIGHT: &str = "Right-handed";
/// The hands.
pub const LEFT: &str = "Left-handed";
/// What distances and speeds are read in.
pub const UNITS: &str = "Distances and speeds in";
/// The units.
pub const METRIC: &str = "Metres, m/s";
/// The units.
pub const IMPERIAL: &str = "Yards, mph";
/// Year of birth.
pub const BORN: &str = "Year of birth (may stay empty)";
/// Why it is asked.
pub const BORN_HINT: &str =
    "Only for the limits of full-speed swings. Left empty, the limits for the young hold.";
/// Over the cautions.
pub const MIND: &str = "Before the first ball";
/// The cautions.
pub const CAUTIONS: [&str; 3] = [
    "Nobody stands in front of a swing or beside it; for swings from the other side, both sides are clear. The rules of your range come first.",
    "Warm up before full swings. Stop on pain, and see a licensed professional.",
    "Powder spray: outdoors, away from faces, wiped off afterwards; in practice only, as nothing may be put on the face during a round (Rules of Golf 4.1a(3)).",
];
/// Begin.
pub const BEGIN: &str = "Begin";
/// With invented people.
pub const LOOK_AROUND: &str = "Look around first, with invented people";
/// What that does.
pub const LOOK_AROUND_HINT: &str =
    "They stand in a book of their own. When you leave them, nothing of them stays.";
/// It says so as long as they are there.
pub const INVENTED: &str =
    "These people are invented. Try whatever you like; nothing of it stays, and nothing can be sent.";
/// Leaves them.
pub const LEAVE: &str = "Leave the invented people";
/// Left.
pub const INVENTED_GONE: &str = "The invented people are gone. Begin your own book here.";
/// The coach of the invented students.
pub const INVENTED_COACH: &str = "Maren Solberg";
/// What their plans are after.
pub const INVENTED_AIM: &str = "Strikes nearer the middle";
/// Their sessions.
pub const INVENTED_SESSION: &str = "Evening range";
/// Without a name.
pub const NEED_NAME: &str = "Write your name first: the other one finds you by it.";
/// It has begun.
pub const BEGUN_STUDENT: &str = "Your book is made. Log a first ball, or take in your coach's file.";
/// It has begun.
pub const BEGUN_COACH: &str = "Your book is made. Take in a student's file, or add a student.";
/// A screen that has nothing to show.
pub const NOT_SHOWN: &str = "There is nothing to show";
/// A book that can't be opened.
pub const BROKEN: &str = "This book can't be opened";
/// Under it.
pub const BROKEN_HINT: &str = "Nothing was changed.";
