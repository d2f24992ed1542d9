//! What every shell shows, as data: pages and their blocks.
//!
//! The rule that must hold: a shell draws blocks and adds nothing to them.
//!
//! # Where to start
//! [`block`] for the kinds of block, [`brief_page`] and [`flight_page`] for
//! pages, [`sheet`] for a page on paper, [`flight_drawing`] for one drawing.

pub mod block;
mod brief;
mod brief_card;
mod brief_details;
mod compare;
mod drill;
mod feel;
mod flight;
mod flight_chart;
mod pattern;
mod plan;
mod sheet;
mod today;
mod trial;
mod what_if;

pub use block::{Basis, Block, Page, Row};
pub use brief::brief_page;
pub use brief_card::brief_card;
pub use compare::{Sides, compare_page};
pub use drill::{Records, drill_page, drills_page, own_drill_page};
pub use feel::feel_page;
pub use flight::{Beside, flight_page};
pub use flight_chart::{DrawError, face_map_drawing, flight_drawing};
pub use pattern::{pattern_chart, pattern_notes, pattern_page};
pub use plan::{plan_page, proposal_page, speed_page};
pub use sheet::{phone_sheet, sheet};
pub use today::{doing_page, today_page};
pub use trial::trial_page;
pub use what_if::what_if_page;
