//! The screens of the largest books, as text that was read: of a student with 50,000 balls,
//! and of a coach with 300 students; where something is worked out, as it is meanwhile, too.

use chalkface_core::book::{Book, DeviceKeys};
use chalkface_core::model::Role;
use chalkface_core::screen::{Loop, text};

use crate::large_book::now;
use crate::large_walk::{COACH, STUDENT, Stop, event, make};

const WIDTH: usize = 78;

fn shows(role: Role, name: &str, way: &[Stop]) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.book");
    make(&path, role);
    let mut of = Loop::open(&path, None, now(2).at);
    of.give_keys(DeviceKeys::from_entropy(Book::open(&path).unwrap().device(), &[7; 32]).unwrap());
    let (mut tick, mut told) = (2, String::new());
    for (stop, events) in way {
        for written in *events {
            tick += 1;
            of.act(&event(&of, written).into(), now(tick));
        }
        if of.work().is_some() {
            told += &format!("\n######## {stop}, being worked out\n{}", text::screen(&of.screen(), WIDTH));
        }
        while let Some(work) = of.work() {
            let done = work.run();
            of.finish(done);
        }
        told += &format!("\n######## {stop}\n{}", text::screen(&of.screen(), WIDTH));
    }
    insta::with_settings!({ snapshot_path => "../replays/snapshots", prepend_module_to_snapshot => false }, {
        insta::assert_snapshot!(name, told);
    });
}

#[test]
fn screens_of_50_000_balls_show_what_was_reviewed() {
    shows(Role::Student, "largest-student", STUDENT);
}

#[test]
fn screens_of_300_students_show_what_was_reviewed() {
    shows(Role::Coach, "largest-coach", COACH);
}
