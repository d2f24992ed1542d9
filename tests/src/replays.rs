//! Stories told by events: every screen of them is read as text, and a device that is
//! killed after each event must show, keep and hold the same.
//!
//! The files are in `tests/replays`; its README says how they are written.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use chalkface_core::book::{Book, DeviceKeys};
use chalkface_core::model::{Moment, Now};
use chalkface_core::screen::{Asked, Control, Effect, Event, Loop, Outcome, Part, Screen, Told, What, text};
use chalkface_core::sync::RootKey;
use serde::Deserialize;
use serde_json::{Value, json};

const WIDTH: usize = 78;

#[derive(Deserialize)]
struct Replay {
    says: String,
    start_ms: i64,
    offset_min: i16,
    /// The devices have taken in each other's cards at this step, before it.
    #[serde(default)]
    meet_before: Option<usize>,
    /// Both books hold the same at the end.
    #[serde(default)]
    equal: bool,
    steps: Vec<Step>,
}

#[derive(Deserialize, Clone)]
struct Step {
    device: String,
    #[serde(default)]
    after_s: i64,
    #[serde(default)]
    show: Option<String>,
    #[serde(default)]
    hand_over: bool,
    #[serde(default)]
    pick: Option<String>,
    /// Answers the first wish for a picture with this one of this folder.
    #[serde(default)]
    picture: Option<String>,
    #[serde(default)]
    answer: Option<Outcome>,
    #[serde(flatten)]
    rest: serde_json::Map<String, Value>,
}

/// A step with nothing left to work out, for runs from other languages: they read it, do
/// it, and compare what comes after.
fn written(step: &Step, now: Now, told: &Told, from: Option<&str>, after: &After) -> Value {
    let effect = match &told.event {
        Event::Answer { effect, .. } => Some(*effect),
        _ => None,
    };
    let does = match (&step.pick, step.hand_over) {
        (Some(_), _) => json!({ "picked": effect, "from": from }),
        _ if step.picture.is_some() => json!({ "given": effect, "file": step.picture }),
        (None, true) => json!({ "hand_over": effect }),
        (None, false) => json!({ "event": told }),
    };
    json!({
        "device": step.device, "utc_ms": now.at.utc_ms, "offset_min": now.at.offset_min, "entropy": now.entropy,
        "does": does, "screen": serde_json::from_str::<Value>(&after.screen).unwrap(),
        "state": after.state.iter().map(|byte| format!("{byte:02x}")).collect::<String>(), "digests": after.digests,
    })
}

/// What a step leaves behind.
#[derive(PartialEq, Debug)]
struct After {
    screen: String,
    state: Vec<u8>,
    digests: Vec<String>,
}

impl After {
    fn of(device: &Device) -> Self {
        Self {
            screen: serde_json::to_string(&*device.running.screen()).unwrap(),
            state: device.running.state(),
            digests: device.running.digests().unwrap(),
        }
    }
}

/// One device of a story.
struct Device {
    no: u8,
    path: PathBuf,
    running: Loop,
    handed_over: Vec<u8>,
}

impl Device {
    fn settle(&mut self) {
        while let Some(work) = self.running.work() {
            let done = work.run();
            self.running.finish(done);
        }
    }

    fn wish(&self, of: impl Fn(&Asked) -> bool) -> Option<Effect> {
        self.running.screen().effects.iter().find(|effect| of(&effect.what)).cloned()
    }

    fn kill(&mut self, at: Moment) {
        let state = self.running.state();
        self.running = Loop::open(&self.path, Some(&state), at);
        self.give_keys(at);
    }

    /// A shell makes keys as soon as there is a book, and gives them at each start.
    fn give_keys(&mut self, at: Moment) {
        let Ok(mut book) = Book::open(&self.path) else { return };
        let keys = DeviceKeys::from_entropy(book.device(), &[self.no + 1; 32]).unwrap();
        if book.identity().unwrap().is_none() {
            let root = RootKey::from_entropy([self.no + 1; 16]);
            book.begin_identity(&keys, &root, Now { at, entropy: [self.no; 16] }).unwrap();
        }
        self.running.give_keys(keys);
    }

    /// Takes in the other's card.
    fn meet(&mut self, other: &mut Self, at: Moment) {
        self.give_keys(at);
        other.give_keys(at);
        let keys = |no: u8, book: &Book| DeviceKeys::from_entropy(book.device(), &[no + 1; 32]).unwrap();
        let (mut own, their) = (Book::open(&self.path).unwrap(), Book::open(&other.path).unwrap());
        let card = their.card(&keys(other.no, &their), Now { at, entropy: [other.no; 16] }).unwrap();
        own.meet(&card).unwrap();
    }
}

fn entropy(device: u8, step: u32, last: u8) -> [u8; 16] {
    let mut bytes = [0; 16];
    bytes[0] = device;
    bytes[1..5].copy_from_slice(&step.to_be_bytes());
    bytes[15] = last;
    bytes
}

/// A step's event with keys in full: `do.begin.*` is the first control whose key begins so,
/// and a row's number is the key of that row.
fn resolved(screen: &Screen, mut step: serde_json::Map<String, Value>) -> serde_json::Map<String, Value> {
    let wanted =
        step.get("key").and_then(Value::as_str).and_then(|key| key.strip_suffix('*')).map(str::to_owned);
    if let Some(start) = wanted {
        let controls = screen.parts.iter().filter(|part| matches!(part.what, What::Do(_)));
        let key = controls.map(Part::key).find(|key| key.starts_with(&start));
        step.insert("key".into(), key.unwrap_or_else(|| panic!("no key begins with {start}")).into());
    }
    if let Some(n) = step.get("row").and_then(Value::as_u64) {
        let row = screen.parts.iter().find_map(|part| match &part.what {
            What::Do(Control::Rows { key, rows, .. }) if step.get("key") == Some(&key.as_str().into()) => {
                rows.get(n as usize)
            }
            _ => None,
        });
        let row = row.unwrap_or_else(|| panic!("no row {n} of {:?} on {}", step.get("key"), screen.place));
        step.insert("row".into(), row.key.clone().into());
    }
    step
}

/// Runs a story; `each` sees the screen that a step leads to.
fn run(replay: &Replay, killed: bool, mut each: impl FnMut(&Step, &Screen)) -> (Vec<After>, Vec<Value>) {
    let mut plain = Vec::new();
    let folder = tempfile::tempdir().unwrap();
    let mut devices: BTreeMap<String, Device> = BTreeMap::new();
    let mut at = Moment { utc_ms: replay.start_ms, offset_min: replay.offset_min };
    let mut left = Vec::new();
    for (n, step) in replay.steps.iter().enumerate() {
        at.utc_ms += 1000 * step.after_s;
        if replay.meet_before == Some(n) {
            let mut both: Vec<&mut Device> = devices.values_mut().collect();
            if let [one, other] = both.as_mut_slice() {
                one.meet(other, at);
                other.meet(one, at);
            }
        }
        let file = step.pick.as_ref().map(|from| devices[from].handed_over.clone());
        let no = devices.len() as u8;
        let device = devices.entry(step.device.clone()).or_insert_with(|| {
            let path = folder.path().join(format!("{}.book", step.device));
            Device { no, running: Loop::open(&path, None, at), path, handed_over: Vec::new() }
        });
        device.settle();
        device.give_keys(at);
        let no = device.no;
        let now = |last| Now { at, entropy: entropy(no, n as u32, last) };
        let told = if step.hand_over {
            let wish = device
                .wish(|of| matches!(of, Asked::Share { .. }))
                .unwrap_or_else(|| panic!("step {n}: nothing to share"));
            device.handed_over = device.running.content(wish.id).expect("a file");
            Event::Answer { effect: wish.id, outcome: Outcome::Done }.into()
        } else if let Some(bytes) = file {
            let wish = device
                .wish(|of| matches!(of, Asked::PickFile { .. }))
                .unwrap_or_else(|| panic!("step {n}: no file is asked for"));
            Event::Answer { effect: wish.id, outcome: Outcome::File { name: "news.chalk".into(), bytes } }
                .into()
        } else if let Some(name) = &step.picture {
            let wish = device.wish(|of| *of == Asked::TakePicture).expect("no picture is asked for");
            let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("replays").join(name);
            let bytes = std::fs::read(path).expect("a picture");
            Event::Answer { effect: wish.id, outcome: Outcome::File { name: name.clone(), bytes } }.into()
        } else if let Some(outcome) = step.answer.clone() {
            let wish = device.wish(|_| true).unwrap_or_else(|| panic!("step {n}: nothing is asked for"));
            Event::Answer { effect: wish.id, outcome }.into()
        } else {
            serde_json::from_value::<Told>(resolved(&device.running.screen(), step.rest.clone()).into())
                .unwrap_or_else(|error| panic!("step {n}: {error}"))
        };
        device.running.act(&told, now(0));
        device.give_keys(at);
        device.settle();
        plain.push(written(step, now(0), &told, step.pick.as_deref(), &After::of(device)));
        let screen = device.running.screen();
        each(step, &screen);
        while let Some(buzz) = device.wish(|of| *of == Asked::Buzz) {
            let told = Event::Answer { effect: buzz.id, outcome: Outcome::Done }.into();
            device.running.act(&told, now(1));
            device.settle();
            let answer = Step { hand_over: false, pick: None, picture: None, ..step.clone() };
            plain.push(written(&answer, now(1), &told, None, &After::of(device)));
        }
        if killed {
            device.kill(at);
        }
        device.settle();
        let screen = device.running.screen();
        look_over(&screen);
        left.push(After::of(device));
    }
    if replay.equal {
        let digests: Vec<_> = devices.values().map(|device| device.running.digests().unwrap()).collect();
        assert!(digests.windows(2).all(|pair| pair[0] == pair[1]) && !digests[0].is_empty(), "{digests:?}");
    }
    (left, plain)
}

/// What holds of every screen.
fn look_over(screen: &Screen) {
    let mut keys: Vec<&str> = screen.parts.iter().map(Part::key).collect();
    keys.sort_unstable();
    let all = keys.len();
    keys.dedup();
    assert_eq!(keys.len(), all, "keys of {} come twice", screen.place);
    assert!(keys.iter().all(|key| !key.is_empty()) && !screen.title.is_empty());
}

fn all() -> Vec<(String, Replay)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("replays");
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "json"))
        .collect();
    found.sort();
    assert!(found.len() >= 2, "the replays were not found");
    let read = |path: PathBuf| {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let text = std::fs::read_to_string(&path).unwrap();
        (name, serde_json::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display())))
    };
    found.into_iter().map(read).collect()
}

#[test]
fn every_story_shows_what_was_reviewed() {
    for (name, replay) in all() {
        let mut told = format!("{}\n", replay.says);
        let (_, plain) = run(&replay, false, |step, screen| {
            if let Some(show) = &step.show {
                told += &format!("\n######## {}: {show}\n{}", step.device, text::screen(screen, WIDTH));
            }
        });
        if let Some(into) = std::env::var_os("REPLAYS_INTO") {
            std::fs::create_dir_all(&into).unwrap();
            let path = Path::new(&into).join(format!("{name}.json"));
            std::fs::write(path, serde_json::to_vec(&plain).unwrap()).unwrap();
        }
        insta::with_settings!({ snapshot_path => "../replays/snapshots", prepend_module_to_snapshot => false }, {
            insta::assert_snapshot!(name, told);
        });
    }
}

/// Where two of them part, and no more: screens are long.
fn difference(plain: &After, killed: &After) -> String {
    let (one, other) = (plain.screen.as_bytes(), killed.screen.as_bytes());
    let same = one.iter().zip(other).take_while(|(a, b)| a == b).count();
    let near = |of: &[u8]| {
        let cut = same.saturating_sub(80)..of.len().min(same + 80);
        String::from_utf8_lossy(of.get(cut).unwrap_or_default()).into_owned()
    };
    if same < one.len().max(other.len()) {
        return format!("screens: {} | {}", near(one), near(other));
    }
    format!(
        "states equal: {}; digests: {:?} {:?}",
        plain.state == killed.state,
        plain.digests,
        killed.digests
    )
}

#[test]
fn a_device_that_is_killed_after_every_event_shows_keeps_and_holds_the_same() {
    for (name, replay) in all() {
        let (plain, killed) = (run(&replay, false, |_, _| {}).0, run(&replay, true, |_, _| {}).0);
        for (n, (plain, killed)) in plain.iter().zip(&killed).enumerate() {
            assert!(plain == killed, "{name}, step {n}: {}", difference(plain, killed));
        }
    }
}
