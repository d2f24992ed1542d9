//! What holds of the loop whatever happens: random events in any order.

use std::path::Path;

use proptest::prelude::*;

use chalkface_core::book::{Book, DeviceKeys};
use chalkface_core::model::{Moment, Now, Shot};
use chalkface_core::screen::{
    Control, Event, Loop, MOST_BYTES, MOST_ROWS, Outcome, Screen, Told, What, text,
};
use chalkface_core::sync::RootKey;

const START_MS: i64 = 1_777_881_600_000;

fn now(step: usize) -> Now {
    let at = Moment { utc_ms: START_MS + 1000 * step as i64, offset_min: 60 };
    let mut entropy = [7; 16];
    entropy[..8].copy_from_slice(&(step as u64).to_be_bytes());
    Now { at, entropy }
}

fn settle(of: &mut Loop) {
    while let Some(work) = of.work() {
        let done = work.run();
        of.finish(done);
    }
}

/// Numbers from which one event is made that may fit the screen that is shown.
type Dice = (u8, u8, u8, f64, f64);

/// An event: mostly one that a person could make on this screen.
fn event(screen: &Screen, (kind, which, option, x, y): Dice, step: usize) -> Event {
    let controls: Vec<&Control> = screen
        .parts
        .iter()
        .filter_map(|part| match &part.what {
            What::Do(control) => Some(control),
            What::Read(_) => None,
        })
        .collect();
    let pick = |of: usize, from: u8| if of == 0 { 0 } else { from as usize % of };
    match kind % 16 {
        0 => return Event::Back,
        1 => return Event::Undo,
        2 if !screen.tabs.is_empty() => {
            return Event::Go { tab: screen.tabs[pick(screen.tabs.len(), which)].key.into() };
        }
        3 => return Event::Wake,
        4 => return Event::Press { key: format!("nothing.{which}") },
        5 => {
            let outcomes = [
                Outcome::Done,
                Outcome::GivenUp,
                Outcome::Lost,
                Outcome::Failed { why: "no room".into() },
                Outcome::File { name: "x".into(), bytes: vec![option; which.into()] },
                Outcome::File {
                    name: "face.jpg".into(),
                    bytes: include_bytes!("../replays/face.jpg").into(),
                },
            ];
            let effect = screen.effects.first().map_or(0, |effect| effect.id);
            return Event::Answer { effect, outcome: outcomes[pick(6, option)].clone() };
        }
        _ => {}
    }
    if controls.is_empty() {
        return Event::Back;
    }
    let control = controls[pick(controls.len(), which)];
    let key = control.key().to_owned();
    let texts = ["", "Mina", "12", "-3.5", "2026-05-04", "\u{202e}x", "9e999", "یوسف"];
    match control {
        Control::Action { .. } | Control::Counter { .. } | Control::Clock { .. } => Event::Press { key },
        Control::Choice { options, .. } | Control::Cells { cells: options, .. } => {
            let option = options.get(pick(options.len(), option)).map_or("none", |of| of.key.as_str());
            Event::Choose { key, option: option.into() }
        }
        Control::Switch { .. } => Event::Switch { key, on: option % 2 == 0 },
        Control::Field { no, .. } => {
            let text = if option == 255 { "ä".repeat(9000) } else { texts[pick(8, option)].into() };
            Event::Write { key, text, no: no + u64::from(option % 3) }
        }
        Control::Amount { no, .. } => Event::Slide { key, value: x * 200.0 - 50.0, no: no + 1 },
        Control::Touch { scene, places, .. } => {
            if option % 4 == 0 && !places.is_empty() {
                return Event::Choose { key, option: places[pick(places.len(), option)].key.clone() };
            }
            Event::Touch { key, x_mm: x * scene.width_mm, y_mm: y * scene.height_mm }
        }
        Control::Picture { picture, points, .. } => {
            let point = points[pick(points.len(), option)].clone();
            if option % 4 == 0 {
                return Event::Choose { key, option: point.key };
            }
            let (x_px, y_px) = (x * f64::from(picture.width_px), y * f64::from(picture.height_px));
            Event::Drag { key, point: point.key, x_px, y_px, no: point.no + u64::from(option % 3) }
        }
        Control::Rows { rows, .. } => {
            let row = rows.get(pick(rows.len(), option)).map_or("none", |row| row.key.as_str());
            let _ = step;
            Event::Open { key, row: row.into() }
        }
    }
}

fn shots(path: &Path) -> usize {
    let Ok(book) = Book::open(path) else { return 0 };
    let students = book.students().unwrap();
    students.iter().map(|s| book.records_and_removed::<Shot>(s.strand).unwrap().len()).sum()
}

/// Begins a book of a role, so that chance need not.
fn begin(of: &mut Loop, coach: bool) {
    let name = Event::Write { key: "name".into(), text: "Mina".into(), no: 1 };
    let role = Event::Choose { key: "role".into(), option: if coach { "coach" } else { "student" }.into() };
    for (step, event) in [role, name, Event::Press { key: "begin".into() }].into_iter().enumerate() {
        of.act(&event.into(), now(step));
    }
    assert_ne!(of.screen().place, "first_use", "it begins");
}

/// The keys of the device, made where it has none, as a shell does.
fn give_keys(of: &mut Loop, path: &Path) {
    let Ok(mut book) = Book::open(path) else { return };
    let keys = DeviceKeys::from_entropy(book.device(), &[3; 32]).unwrap();
    if book.identity().unwrap().is_none() {
        book.begin_identity(&keys, &RootKey::from_entropy([5; 16]), now(0)).unwrap();
    }
    of.give_keys(keys);
}

fn erases(event: &Event) -> bool {
    let Event::Press { key } = event else { return false };
    ["shot.erase", "session.erase", "keep.all", "keep.give_up"].contains(&key.as_str())
}

/// Runs random events; whatever they are, what has to hold holds.
fn survives(coach: Option<bool>, dice: &[Dice]) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.book");
    let mut of = Loop::open(&path, None, now(0).at);
    if let Some(coach) = coach {
        begin(&mut of, coach);
        give_keys(&mut of, &path);
    }
    let mut most = 0;
    for (step, dice) in dice.iter().enumerate() {
        let event = event(&of.screen(), *dice, step);
        of.act(&event.clone().into(), now(step + 10));
        // A shell asks after every event whether there is a book now that wants keys.
        give_keys(&mut of, &path);
        settle(&mut of);
        let shown = of.screen();
        for rows in shown.parts.iter().filter_map(|part| match &part.what {
            What::Do(Control::Rows { key, .. }) => Some(key),
            _ => None,
        }) {
            assert!(of.rows(rows, None, 1000).rows.len() <= MOST_ROWS);
        }
        // No acknowledged shot is lost: removed ones are still there, but for what was asked to
        // be erased, twice.
        let kept = shots(&path);
        assert!(kept >= most || erases(&event), "{event:?} lost a shot");
        most = kept;
        let bytes = of.state();
        assert!(bytes.len() <= MOST_BYTES);
        let mut restored = Loop::open(&path, Some(&bytes), now(step + 10).at);
        give_keys(&mut restored, &path);
        settle(&mut restored);
        let again = restored.screen();
        let other = again.parts.iter().zip(&shown.parts).find(|(one, other)| one != other);
        assert_eq!(other, None, "after {event:?}");
        assert_eq!(*again, *shown, "after {event:?}");
        assert_eq!(restored.state(), bytes);
    }
    for _ in 0..9 {
        of.act(&Event::Back.into(), now(99_999));
    }
    settle(&mut of);
    assert_eq!(of.screen().back, None, "back leads home");
}

/// How many random stories: the environment of the long tests asks for more.
#[allow(clippy::disallowed_methods, reason = "how many random stories is asked by the long tests")]
fn stories() -> ProptestConfig {
    let more = std::env::var("CHALKFACE_STORIES").ok().and_then(|n| n.parse().ok());
    ProptestConfig { cases: more.unwrap_or(24), ..ProptestConfig::default() }
}

fn dice() -> impl Strategy<Value = Vec<Dice>> {
    proptest::collection::vec((any::<u8>(), any::<u8>(), any::<u8>(), 0.0..1.0, 0.0..1.0), 1..30)
}

proptest! {
    #![proptest_config(stories())]

    #[test]
    fn whatever_a_student_does_nothing_is_lost_and_back_leads_home(dice in dice()) {
        survives(Some(false), &dice);
    }

    #[test]
    fn whatever_a_coach_does_nothing_is_lost_and_back_leads_home(dice in dice()) {
        survives(Some(true), &dice);
    }

    #[test]
    fn whatever_is_done_before_there_is_a_book_does_no_harm(dice in dice()) {
        survives(None, &dice);
    }

    #[test]
    fn any_bytes_are_a_state_or_lead_home(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        let folder = tempfile::tempdir().unwrap();
        let of = Loop::open(&folder.path().join("a.book"), Some(&bytes), now(0).at);
        prop_assert!(!of.screen().title.is_empty());
    }
}

#[test]
fn invented_people_leave_no_trace() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.book");
    let files = || std::fs::read_dir(folder.path()).unwrap().count();
    let mut of = Loop::open(&path, None, now(0).at);
    of.act(&Event::Press { key: "look_around".into() }.into(), now(1));
    assert!(files() > 0 && !path.exists() && of.screen().place == "today");
    // Killed, it goes on with them; a start that knows nothing of them takes them away.
    let state = of.state();
    drop(of);
    let mut of = Loop::open(&path, Some(&state), now(2).at);
    assert_eq!(of.screen().place, "today");
    of.act(&Event::Press { key: "invented.leave".into() }.into(), now(3));
    assert_eq!((files(), of.screen().place), (0, "first_use"));
    of.act(&Event::Press { key: "look_around".into() }.into(), now(4));
    drop(of);
    let of = Loop::open(&path, None, now(5).at);
    assert_eq!((files(), of.screen().place), (0, "first_use"));
}

#[test]
fn a_press_that_was_meant_for_the_screen_before_does_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut of = Loop::open(&folder.path().join("a.book"), None, now(0).at);
    let seen = of.screen().turn;
    begin(&mut of, false);
    of.act(&Event::Go { tab: "ball".into() }.into(), now(8));
    let before = of.screen();
    of.act(&Told { seen: Some(seen), event: Event::Press { key: "ball.save".into() } }, now(9));
    assert_eq!(of.screen().notices, before.notices);
    of.act(&Event::Press { key: "ball.save".into() }.into(), now(10));
    assert_ne!(of.screen().notices, before.notices, "the same press without it is one");
}

#[test]
fn a_state_of_a_later_version_leads_home_with_a_notice() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.book");
    let mut of = Loop::open(&path, None, now(0).at);
    begin(&mut of, false);
    let mut bytes = of.state();
    bytes[0] = 9;
    let restored = Loop::open(&path, Some(&bytes), now(9).at);
    assert_eq!(restored.screen().place, of.screen().place);
    assert_eq!(restored.screen().notices.len(), 1);
}

#[test]
fn a_book_that_can_not_be_opened_says_why_and_nothing_fails() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.book");
    std::fs::write(&path, "something else").unwrap();
    let mut of = Loop::open(&path, None, now(0).at);
    of.act(&Event::Press { key: "begin".into() }.into(), now(1));
    let screen = of.screen();
    assert_eq!(screen.place, "broken");
    assert!(text::screen(&screen, 80).contains("not a book"));
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "something else");
}
