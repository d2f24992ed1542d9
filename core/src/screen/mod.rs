//! What every shell shows, as data: screens and the loop that runs them, and pages for
//! paper.
//!
//! The rule that must hold: a shell draws blocks and controls and adds nothing to them.
//!
//! # Where to start
//! [`Loop`] for how a shell drives all of it, [`places`] for the table of screens,
//! [`block`] for what is read, [`control`] for what is operated, [`Event`] and [`Effect`]
//! for what goes in and out; [`text`] shows a screen as plain text. For paper:
//! [`brief_page`] and [`flight_page`] for pages, [`sheet`] for a page on paper,
//! [`flight_drawing`] for one drawing.

pub mod block;
#[allow(clippy::unnecessary_wraps, reason = "all screens have the same three functions")]
mod both;
mod brief;
mod brief_card;
mod brief_details;
#[allow(clippy::unnecessary_wraps, reason = "all screens have the same three functions")]
mod coach;
mod compare;
pub mod control;
mod drill;
pub mod effect;
pub mod event;
mod feel;
mod flight;
mod flight_chart;
mod markup;
pub mod part;
mod parts;
mod pattern;
pub mod places;
mod plan;
mod reads;
pub mod run;
mod sheet;
#[allow(clippy::unnecessary_wraps, reason = "all screens have the same three functions")]
mod student;
pub mod text;
mod today;
mod trial;
mod what_if;

pub use block::{Basis, Block, Page, Row};
pub use both::take_in::MOST_BYTES as MOST_FILE_BYTES;
pub use brief::brief_page;
pub use brief_card::brief_card;
pub use compare::{Sides, compare_page};
pub use control::{Choosable, Control, DragPoint, FieldKind, ListRow, Look, Picture, PointLook, RowsPage};
pub use drill::{Records, drill_page, drills_page, own_drill_page};
pub use effect::{Asked, Effect};
pub use event::{Event, Outcome};
pub use feel::feel_page;
pub use flight::{Beside, flight_page};
pub use flight_chart::{DrawError, face_map_drawing, flight_drawing};
pub use markup::plain;
pub use part::{Busy, Column, Notice, Part, Screen, Tab, Tone, What};
pub use pattern::{pattern_chart, pattern_notes, pattern_page};
pub use plan::{plan_page, proposal_page, speed_page};
pub use run::{Loop, MOST_BYTES, MOST_ROWS, Problem, Told, Work, WorkDone};
pub use sheet::{phone_sheet, sheet};
pub use today::{doing_page, today_page};
pub use trial::trial_page;
pub use what_if::what_if_page;
