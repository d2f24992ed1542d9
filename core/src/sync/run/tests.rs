//! Runs against themselves: nothing of a signed change can be changed, and holes say what
//! they are about. An outside reader is in tests/python.

use super::*;
use crate::model::{Kind, Moment, RecordId};
use crate::sync::Hlc;

fn keys(n: u8) -> DeviceKeys {
    DeviceKeys::from_entropy(AuthorId::from_bytes([n; 16]), &[n; 32]).unwrap()
}

fn strand(n: u8) -> StrandId {
    StrandId::from_bytes([n; 16])
}

fn changes(from: u64, count: u64) -> Vec<Change> {
    (from..from + count)
        .map(|seq| Change {
            author: keys(1).author(),
            seq,
            hlc: Hlc::after(None, seq as i64),
            made: Moment { utc_ms: seq as i64, offset_min: 60 },
            kind: Kind::NOTE,
            record: RecordId::from_bytes([seq as u8; 16]),
            body: vec![0x81, 0xa1, 0x01, seq as u8],
        })
        .collect()
}

fn signed(changes: &[Change], before: Link) -> (Run, Link) {
    Run::sign(&keys(1), strand(9), before, changes)
}

fn check(run: &Run, changes: &[Change]) -> Option<Link> {
    run.check(&keys(1).signing_public(), strand(9), keys(1).author(), changes)
}

#[test]
fn a_run_holds_for_its_changes_and_the_next_goes_on_from_its_end() {
    let (all, start) = (changes(1, 9), base(strand(9), keys(1).author()));
    let (first, end) = signed(&all[..5], start);
    assert_eq!(check(&first, &all[..5]), Some(end));
    let (second, _) = signed(&all[5..], end);
    assert!(check(&second, &all[5..]).is_some());
    assert_eq!((second.first, second.last()), (6, 9));
    let mut bytes = Vec::new();
    second.encode(&mut bytes);
    assert_eq!(Run::decode(&mut Decoder::new(&bytes)).unwrap(), second);
    // A first run begins where this device's chain in this strand begins.
    let (moved, _) = signed(&all[..5], [1; 32]);
    assert_eq!(check(&moved, &all[..5]), None);
}

#[test]
fn nothing_of_a_signed_change_can_be_changed_left_out_added_or_moved() {
    let all = changes(1, 4);
    let (run, _) = signed(&all, base(strand(9), keys(1).author()));
    let edits: [fn(&mut Vec<Change>); 11] = [
        |c| c[1].body[3] ^= 1,
        |c| c[1].hlc = Hlc::after(None, 77),
        |c| c[1].made.utc_ms += 1,
        |c| c[1].made.offset_min += 1,
        |c| c[1].kind = Kind::SHOT,
        |c| c[1].record = RecordId::from_bytes([0; 16]),
        |c| c[1].seq = 7,
        |c| c[1].author = keys(2).author(),
        |c| c.swap(1, 2),
        |c| c.truncate(3),
        |c| c.push(changes(5, 1).remove(0)),
    ];
    for (n, edit) in edits.into_iter().enumerate() {
        let mut other = all.clone();
        edit(&mut other);
        assert_eq!(check(&run, &other), None, "edit {n}");
    }
    assert!(check(&run, &all).is_some());
}

#[test]
fn a_run_holds_for_its_signer_device_and_strand_only() {
    let all = changes(1, 2);
    let (run, _) = signed(&all, base(strand(9), keys(1).author()));
    let device = keys(1).author();
    assert!(run.check(&keys(2).signing_public(), strand(9), device, &all).is_none());
    assert!(run.check(&keys(1).signing_public(), strand(8), device, &all).is_none());
    let mut bytes = Vec::new();
    run.encode(&mut bytes);
    for at in 0..bytes.len() {
        let mut changed = bytes.clone();
        changed[at] ^= 1;
        if let Ok(other) = Run::decode(&mut Decoder::new(&changed)) {
            assert_eq!(check(&other, &all), None, "byte {at}");
        }
    }
}

#[test]
fn after_an_erasure_the_rest_still_verifies_and_nothing_else_passes_for_what_went() {
    let all = changes(1, 4);
    let (whole, end) = signed(&all, base(strand(9), keys(1).author()));
    let with = |gone: u64| all.iter().map(|change| (change.clone(), change.seq == gone)).collect::<Vec<_>>();
    let run = whole.without(strand(9), &with(2));
    let kept: Vec<Change> = all.iter().filter(|change| change.seq != 2).cloned().collect();
    assert_eq!(check(&run, &kept), Some(end));
    assert_eq!(check(&run, &all), None);
    assert_eq!(run.present(), 3);
    let gone: Vec<_> = run.remnants().map(|(seq, remnant)| (seq, remnant.tag)).collect();
    assert_eq!(gone, [(2, Some(tag(strand(9), all[1].kind, all[1].record)))]);
    let mut other = kept.clone();
    other[1].body = vec![0];
    assert_eq!(check(&run, &other), None);
    let mut bytes = Vec::new();
    run.encode(&mut bytes);
    assert_eq!(Run::decode(&mut Decoder::new(&bytes)).unwrap(), run);
    // Once more, and nothing of it is left to guess at.
    let rest: Vec<_> = kept.iter().map(|change| (change.clone(), change.seq == 4)).collect();
    let less = run.without(strand(9), &rest);
    assert_eq!(check(&less, &[all[0].clone(), all[2].clone()]), Some(end));
    assert_eq!(whole.without(strand(9), &with(9)), whole);
}

#[test]
fn nobody_can_say_that_a_hole_was_about_something_else() {
    let all = changes(1, 3);
    let (whole, _) = signed(&all, base(strand(9), keys(1).author()));
    let holed: Vec<_> = all.iter().map(|change| (change.clone(), change.seq == 2)).collect();
    let kept = [all[0].clone(), all[2].clone()];
    let mut run = whole.without(strand(9), &holed);
    let Salts::Each(each) = &mut run.salts else { unreachable!() };
    let Salt::Erased(remnant) = &mut each[1] else { unreachable!() };
    remnant.tag = Some(tag(strand(9), Kind::NOTE, RecordId::from_bytes([77; 16])));
    assert_eq!(check(&run, &kept), None);
    // Nor can the word of who belongs to a strand be left out as an erased note.
    let mut member = all;
    member[1].kind = Kind::MEMBER;
    let (whole, _) = signed(&member, base(strand(9), keys(1).author()));
    let holed: Vec<_> = member.iter().map(|change| (change.clone(), change.seq == 2)).collect();
    let run = whole.without(strand(9), &holed);
    assert_eq!(run.remnants().map(|(_, remnant)| remnant.tag).collect::<Vec<_>>(), [None]);
}
