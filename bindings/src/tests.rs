//! The surface is as listed; a panic mends; a closed object says so.

use super::*;
use crate::guard::guarded;
use crate::told::{Clock, Event};

fn clock(second: i64) -> Clock {
    let mut entropy = vec![0; 16];
    entropy[4] = second as u8;
    Clock { utc_ms: 1_777_881_600_000 + 1000 * second, offset_min: 60, entropy }
}

fn press(key: &str) -> Event {
    Event::Press { key: key.into() }
}

#[test]
fn a_book_is_begun_a_ball_logged_and_a_restored_device_shows_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.book").to_string_lossy().into_owned();
    let one = Device::open(path.clone(), None, clock(0)).unwrap();
    one.act(Event::Write { key: "name".into(), text: "Mina".into(), no: 1 }, None, clock(1)).unwrap();
    one.act(press("begin"), None, clock(2)).unwrap();
    one.act(Event::Go { tab: "ball".into() }, None, clock(3)).unwrap();
    one.act(Event::Touch { key: "ball.face".into(), x_mm: 40.0, y_mm: 20.0 }, None, clock(4)).unwrap();
    one.act(press("ball.save"), None, clock(5)).unwrap();
    let shown = one.screen().unwrap();
    assert_eq!(shown.place, "ball");
    assert!(shown.notices[0].text.starts_with("Ball 1 saved"), "{:?}", shown.notices);
    let state = one.state().unwrap();
    let (digests, again) = (one.digests().unwrap(), Device::open(path, Some(state), clock(6)).unwrap());
    assert_eq!(again.screen().unwrap(), shown);
    assert_eq!(again.digests().unwrap(), digests);
    one.end().unwrap();
    assert_eq!(one.screen(), Err(Fault::Closed));
}

#[test]
fn a_panic_is_an_error_with_a_number_and_what_it_left_is_mended() {
    let mut state = 1;
    let act = |state: &mut i32| -> Result<(), Fault> {
        *state = 2;
        panic!("on purpose")
    };
    let fault = guarded(&mut state, act, |state| *state = 3);
    assert!(matches!(fault, Err(Fault::Unexpected { .. })));
    assert_eq!(state, 3);
}

#[test]
fn a_clock_without_entropy_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.book").to_string_lossy().into_owned();
    let one = Device::open(path, None, clock(0)).unwrap();
    let short = Clock { entropy: vec![1], ..clock(1) };
    assert!(matches!(one.act(Event::Wake, None, short), Err(Fault::Invalid { .. })));
}

/// The lines of the sources that make the surface: whatever stands behind a mark of the
/// generator, as far as it is public.
fn surface() -> String {
    let sources = [
        ("device", include_str!("device.rs")),
        ("fault", include_str!("fault.rs")),
        ("records", include_str!("records.rs")),
        ("scene", include_str!("scene.rs")),
        ("told", include_str!("told.rs")),
        ("words", include_str!("words.rs")),
    ];
    let mut out = String::new();
    for (name, text) in sources {
        out += &format!("# {name}\n");
        let mut marked = false;
        for line in text.lines() {
            if line.contains("uniffi::") {
                marked = true;
            } else if line == "}" {
                marked = false;
            }
            let plain = line.trim();
            let is = plain.starts_with("pub ")
                || (line.starts_with("    ") && plain.ends_with(',') && !plain.contains("::"));
            if marked && is && !plain.starts_with("//") && !plain.starts_with('#') {
                out += &format!("{plain}\n");
            }
        }
    }
    out
}

#[test]
fn the_exported_surface_is_the_one_that_is_listed() {
    let listed = concat!(env!("CARGO_MANIFEST_DIR"), "/api.txt");
    if std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/api.txt.write")).exists() {
        std::fs::write(listed, surface()).unwrap();
    }
    let known = std::fs::read_to_string(listed).unwrap();
    assert_eq!(
        known,
        surface(),
        "make an empty file bindings/api.txt.write, run this test, delete it, and read the diff"
    );
}
