//! A ball: where it met the face, how it flew, whether the finish was held; at most three
//! touches. Without powder the strike is felt, in coarse zones.
//!
//! What was last used is preset; the strike and the flight never are: a mark that nobody
//! looked at would tighten a pattern. "Flight as the ball before" is said on purpose.

use crate::act::{Setting, log_ball, log_drill_ball, session_of};
use crate::book::{Book, StudentEntry};
use crate::chart::{self, FacePad, PHONE_WIDTH_MM, face_pad, felt_zones};
use crate::model::club::{DEFAULT_FACE_HEIGHT_MM, DEFAULT_FACE_WIDTH_MM};
use crate::model::{
    Ball, Club, CurveByEye, Hand, MarkRead, Place, RecordId, Session, Shot, StartByEye, StrikeMark,
};
use crate::screen::control::{Choosable, Control, Look};
use crate::screen::event::Event;
use crate::screen::part::Part;
use crate::screen::parts::{caution, heading, text};
use crate::screen::places::Shown;
use crate::screen::run::{Do, Frame, Held, Problem, See, Wanted};
use crate::words::screen::{ball as say, picture};

const FACE: &str = "ball.face";
const TOE: &str = "mark.toe";
const HIGH: &str = "mark.high";
const ZONE: &str = "mark.zone";
const COARSE: &str = "mark.coarse";
/// Standard error of a powdered mark that was told by its zone: the zone is a third of the
/// face wide and equally likely everywhere, 110 mm / 3 / square root of 12.
const ZONE_SIGMA_MM: f64 = 10.6;
const FLIGHT: &str = "ball.flight";
const FINISH: &str = "ball.finish";
const PICTURE: &str = "ball.picture";
const SAVE: &str = "ball.save";
const SAME: &str = "ball.same";
const PLACE: &str = "ball.place";
const BALL: &str = "ball.kind";
const POWDER: &str = "ball.powder";
const CLUB: &str = "ball.club";

/// What the screen rests on.
pub struct Here {
    student: StudentEntry,
    setting: Setting,
    clubs: Vec<(RecordId, Club)>,
    /// Balls of the day's session in this setting, in order.
    balls: Vec<Shot>,
    /// The practice of a drill in which they are hit.
    practice: Option<RecordId>,
}

impl Here {
    fn read(
        book: &Book,
        student: StudentEntry,
        held: &Held,
        day: crate::model::Day,
        usual: Place,
    ) -> Result<Self, Problem> {
        let strand = student.strand;
        let clubs = book.records::<Club>(strand)?.into_iter().map(|club| (club.id, club.value)).collect();
        let last = book.latest::<Session>(strand, 1)?.into_iter().next().map(|entry| entry.value);
        let setting = setting(held, last.as_ref(), usual);
        let balls = match session_of(book, strand, day, setting)? {
            Some(session) => book
                .shots_of(strand, session.id)?
                .into_iter()
                .filter(|kept| !kept.removed)
                .map(|kept| kept.entry.value)
                .collect(),
            None => Vec::new(),
        };
        Ok(Self { student, setting, clubs, balls, practice: None })
    }

    /// The same in the practice that the screen is about, if it is.
    fn of(self, practice: Option<RecordId>) -> Self {
        Self { practice, ..self }
    }

    /// The balls so far.
    pub fn balls(&self) -> &[Shot] {
        &self.balls
    }

    /// The hand, as charts have it.
    pub fn chart_hand(&self) -> chart::Hand {
        if self.hand() == Hand::Left { chart::Hand::Left } else { chart::Hand::Right }
    }

    /// The hand.
    pub fn hand(&self) -> Hand {
        self.student.student.value.hand
    }

    /// Without powder there is no mark to look at.
    fn felt(&self) -> bool {
        !self.setting.powder
    }

    /// With what, and where.
    pub fn setting(&self) -> Setting {
        self.setting
    }

    /// The club, where it was said.
    pub fn club(&self) -> Option<&Club> {
        self.clubs.iter().find(|(id, _)| Some(*id) == self.setting.club).map(|(_, club)| club)
    }

    /// Width and height of the club's face, mm.
    pub fn face_mm(&self) -> (f64, f64) {
        let (width, height, _) = self.measured_face_mm();
        (width, height)
    }

    /// The same, and whether they were measured.
    pub fn measured_face_mm(&self) -> (f64, f64, bool) {
        self.club().map_or((DEFAULT_FACE_WIDTH_MM, DEFAULT_FACE_HEIGHT_MM, false), Club::face_mm)
    }

    fn pad<'a>(&self, before: &'a [(f64, f64)], mark: Option<(f64, f64)>) -> FacePad<'a> {
        let (face_width_mm, face_height_mm) = self.face_mm();
        let target = crate::lesson::target_of(&self.student.student.value).ok();
        FacePad {
            hand: self.chart_hand(),
            face_width_mm,
            face_height_mm,
            target: target.map(|of| [of.toe_mm.mm(), of.high_mm.mm(), of.radius_mm.mm()]),
            before,
            mark,
            zones: self.felt(),
            width_mm: PHONE_WIDTH_MM,
        }
    }
}

/// What is chosen, or was used last.
fn setting(held: &Held, last: Option<&Session>, usual: Place) -> Setting {
    let word = |key: &str| held.text(key).unwrap_or_default().to_owned();
    let before = last.and_then(|s| s.place).filter(|_| usual != Place::Lesson);
    let place = Place::named(&word(PLACE)).ok().or(before).unwrap_or(usual);
    let usual = if place == Place::Course { Ball::Course } else { Ball::Range };
    // Another place begins with its own usual balls.
    let same_place = last.filter(|session| session.place == Some(place));
    let powder = held.flag(POWDER).or(same_place.and_then(|s| s.powder)).unwrap_or(true);
    let club = match held.text(CLUB) {
        Some(chosen) => chosen.parse().ok().map(RecordId),
        None => last.and_then(|s| s.club),
    };
    Setting {
        place,
        ball: Ball::named(&word(BALL)).ok().or(same_place.and_then(|s| s.ball)).or(Some(usual)),
        powder: powder && place != Place::Course,
        club,
    }
}

/// What the screen rests on where balls are usually hit at a place.
///
/// # Errors
/// What the book reports.
pub fn here(see: &See<'_>, usual: Place) -> Result<Here, Problem> {
    let here = Here::read(see.book()?, see.student()?, see.held(), see.day(), usual)?;
    Ok(here.of(see.frame.record))
}

/// What a picture of the powdered face rests on: never the course.
///
/// # Errors
/// As [`here`].
pub fn powdered(
    book: &Book,
    student: StudentEntry,
    held: &Held,
    day: crate::model::Day,
    coach: bool,
) -> Result<Here, Problem> {
    let usual = if coach { Place::Lesson } else { Place::Range };
    let here = Here::read(book, student, held, day, usual)?;
    let place = if here.setting.place == Place::Course { Place::Range } else { here.setting.place };
    let ball = here.setting.ball.filter(|_| place == here.setting.place).or(Some(Ball::Range));
    Ok(Here { setting: Setting { place, ball, powder: true, ..here.setting }, ..here })
}

pub fn show(see: &See<'_>) -> Result<Shown, Problem> {
    show_at(see, Place::Range)
}

/// The screen where balls are usually hit at a place.
///
/// # Errors
/// What the book reports.
pub fn show_at(see: &See<'_>, usual: Place) -> Result<Shown, Problem> {
    let held = see.held();
    let here = here(see, usual)?;
    let mut shown = Shown::new(say::TITLE, say::so_far(here.balls.len() as u64, here.setting.place));
    if here.practice.is_some() {
        shown.add(text("ball.drill", say::IN_DRILL));
    }
    shown.add(face(&here, held));
    shown.add(flight_control(FLIGHT, here.hand(), held.text(FLIGHT).and_then(flight_of)));
    let last = here.balls.last().and_then(|shot| shot.finish_held);
    shown.add(Control::switch(FINISH, say::FINISH, held.flag(FINISH).or(last).unwrap_or(false)));
    shown.add(Control::action(SAVE, say::SAVE, Look::Main));
    if let Some(before) = here.balls.last() {
        let same = Control::action(SAME, say::SAME, Look::Plain);
        shown.add(same.hint(say::shot_line(before, here.hand())));
    }
    if !here.felt() && here.practice.is_none() {
        shown.add(Control::way(PICTURE, picture::TITLE, picture::WAY_HINT));
    }
    shown.parts.extend(with_what(&here));
    Ok(shown)
}

fn face(here: &Here, held: &Held) -> Part {
    let tapped = held.number(TOE).zip(held.number(HIGH));
    let before: Vec<(f64, f64)> =
        here.balls.iter().filter_map(|shot| shot.mark).map(|m| (m.toe_mm.mm(), m.high_mm.mm())).collect();
    let felt = here.felt();
    let (width, height) = here.face_mm();
    let says = match (felt, held.text(ZONE), tapped) {
        (true, Some(zone), _) => say::zone(zone).to_owned(),
        (false, _, Some((toe, high))) => say::strike(toe, high),
        _ => String::new(),
    };
    let zone = felt_zones(width, height);
    let mark = if felt {
        zone.iter().find(|(key, ..)| held.text(ZONE) == Some(key)).map(|(_, toe, high)| (*toe, *high))
    } else {
        tapped
    };
    let places = zone.iter().map(|(key, ..)| Choosable { key: (*key).into(), name: say::zone(key).into() });
    match face_pad(&here.pad(&before, mark)) {
        Ok(scene) => Part::control(Control::Touch {
            key: FACE.into(),
            name: if felt { say::FACE_FELT } else { say::FACE }.into(),
            scene,
            says,
            places: places.collect(),
        }),
        Err(error) => caution(FACE, error.to_string()),
    }
}

/// The grid of start and curve.
pub fn flight_control(key: &str, hand: Hand, chosen: Option<(StartByEye, CurveByEye)>) -> Control {
    let cells = CurveByEye::ALL.iter().flat_map(|(_, curve)| {
        StartByEye::ALL.iter().map(move |(_, start)| Choosable {
            key: flight_key(*start, *curve),
            name: say::flight(*start, *curve, hand),
        })
    });
    Control::Cells {
        key: key.into(),
        name: say::FLIGHT.into(),
        columns: StartByEye::ALL.iter().map(|(_, start)| say::start(*start).into()).collect(),
        rows: CurveByEye::ALL.iter().map(|(_, curve)| say::curve(*curve, hand).into()).collect(),
        cells: cells.collect(),
        chosen: chosen.map(|(start, curve)| flight_key(start, curve)),
        says: chosen.map_or_else(String::new, |(start, curve)| say::flight(start, curve, hand)),
    }
}

fn flight_key(start: StartByEye, curve: CurveByEye) -> String {
    format!("{}:{}", start.code(), curve.code())
}

/// What a cell's key stands for.
pub fn flight_of(key: &str) -> Option<(StartByEye, CurveByEye)> {
    let (start, curve) = key.split_once(':')?;
    Some((StartByEye::from_code(start.parse().ok()?)?, CurveByEye::from_code(curve.parse().ok()?)?))
}

/// Place, balls, powder and club: beside on a wide screen, last on a narrow one.
fn with_what(here: &Here) -> Vec<Part> {
    let setting = here.setting;
    if here.practice.is_some() {
        // Balls of a drill go where the day's others went.
        return vec![Control::switch(POWDER, say::POWDER, setting.powder).hint(say::POWDERED).into()];
    }
    let mut parts = vec![
        heading("with", say::SETTING),
        Control::choice(
            PLACE,
            say::PLACE,
            Place::ALL.iter().map(|(word, place)| (*word, say::place(*place))),
            Some(setting.place.word().into()),
        )
        .into(),
        Control::choice(
            BALL,
            say::BALL,
            Ball::ALL.iter().map(|(word, ball)| (*word, say::ball(*ball))),
            setting.ball.map(|ball| ball.word().into()),
        )
        .into(),
    ];
    if setting.place == Place::Course {
        parts.push(text("with.course", say::COURSE));
    } else {
        parts.push(Control::switch(POWDER, say::POWDER, setting.powder).hint(say::POWDERED).into());
    }
    if !here.clubs.is_empty() {
        let none = [("none".to_owned(), say::NO_CLUB.to_owned())];
        let clubs = here.clubs.iter().map(|(id, club)| (id.to_string(), club.name.to_string()));
        let chosen = setting.club.map_or_else(|| "none".to_owned(), |id| id.to_string());
        parts.push(Control::choice(CLUB, say::CLUB, none.into_iter().chain(clubs), Some(chosen)).into());
    }
    parts.into_iter().map(Part::beside).collect()
}

pub fn act(doing: &mut Do<'_>, event: &Event) -> Result<(), Problem> {
    act_at(doing, event, Place::Range)
}

/// What it does where balls are usually hit at a place.
///
/// # Errors
/// As [`act`].
pub fn act_at(doing: &mut Do<'_>, event: &Event, usual: Place) -> Result<(), Problem> {
    let (student, day) = (doing.student()?, doing.day());
    let held = doing.held().clone();
    let practice = doing.record();
    let here = Here::read(doing.book()?, student, &held, day, usual)?.of(practice);
    match event {
        Event::Touch { x_mm, y_mm, .. } => {
            let pad = here.pad(&[], None);
            let (toe, high) = pad.place(*x_mm, *y_mm);
            if here.felt() {
                doing.held().put(ZONE, Some(pad.zone(toe, high)));
            } else {
                // A strike off the largest head is none: refused before it is saved.
                StrikeMark::new(toe, high, None, MarkRead::Tap)?;
                doing.held().put(TOE, Some(toe));
                doing.held().put(HIGH, Some(high));
                doing.held().clear(COARSE);
            }
            Ok(())
        }
        Event::Choose { key, option } if key == FACE => {
            let (width, height) = here.face_mm();
            doing.held().put(ZONE, Some(option.as_str()));
            if let Some((_, toe, high)) = felt_zones(width, height).iter().find(|(key, ..)| key == option) {
                doing.held().put(TOE, Some(*toe));
                doing.held().put(HIGH, Some(*high));
                doing.held().put(COARSE, Some(true));
            }
            Ok(())
        }
        Event::Press { key } if key == SAVE => {
            save(doing, &here, &held, held.text(FLIGHT).and_then(flight_of))
        }
        Event::Press { key } if key == PICTURE => {
            // With what was chosen here, though no ball was hit with it yet.
            let mut to = Held::default();
            for key in [PLACE, BALL, CLUB] {
                to.put(key, held.text(key));
            }
            doing.go(Frame {
                held: to,
                ..Frame::new(crate::screen::places::Place::Picture).of(here.student.strand)
            });
            Ok(())
        }
        Event::Press { key } if key == SAME => {
            let before = here.balls.last().ok_or_else(|| Problem(say::NO_BEFORE.into()))?;
            let flight = before.start_by_eye.zip(before.curve_by_eye);
            save(doing, &here, &held, flight)
        }
        _ => Ok(()),
    }
}

fn save(
    doing: &mut Do<'_>,
    here: &Here,
    held: &Held,
    flight: Option<(StartByEye, CurveByEye)>,
) -> Result<(), Problem> {
    let (width, height) = here.face_mm();
    let zone = held.text(ZONE).filter(|_| here.felt());
    let felt = felt_zones(width, height).into_iter().find(|(key, ..)| zone == Some(key));
    let mark = match (here.felt(), felt, held.number(TOE).zip(held.number(HIGH))) {
        (true, Some((_, toe, high)), _) => Some(StrikeMark::new(toe, high, None, MarkRead::Felt)?),
        (false, _, Some((toe, high))) => {
            let sigma = held.flag(COARSE).map(|_| ZONE_SIGMA_MM);
            Some(StrikeMark::new(toe, high, sigma, MarkRead::Tap)?)
        }
        _ => None,
    };
    if mark.is_none() && flight.is_none() {
        return Err(Problem(say::NOTHING.into()));
    }
    let last = here.balls.last().and_then(|shot| shot.finish_held);
    let shot = Shot {
        mark,
        start_by_eye: flight.map(|(start, _)| start),
        curve_by_eye: flight.map(|(_, curve)| curve),
        finish_held: Some(held.flag(FINISH).or(last).unwrap_or(false)),
        ..Shot::of(RecordId::UNNAMED)
    };
    let (no, hand, setting) = (here.balls.len() as u64 + 1, here.hand(), here.setting);
    doing.write(here.student.strand, say::what(no), |book, now| match here.practice {
        Some(practice) => {
            let ball = Shot { powder: Some(setting.powder), ..shot.clone() };
            log_drill_ball(book, &here.student, now, practice, &ball).map(drop)
        }
        None => log_ball(book, here.student.strand, now, setting, shot.clone()).map(drop),
    })?;
    let held = doing.held();
    held.clear_all("mark.");
    held.clear(FLIGHT);
    doing.tell(say::saved(no, &shot, hand));
    doing.ask(Wanted::Buzz);
    Ok(())
}
