//! Who stands after what was said, in whatever order it came.

use super::*;

fn keys(n: u8) -> DeviceKeys {
    DeviceKeys::from_entropy(AuthorId::from_bytes([n; 16]), &[n; 32]).unwrap()
}

fn device(n: u8) -> Device {
    Device::of(&keys(n))
}

fn root() -> RootKey {
    RootKey::from_entropy([200; 16])
}

/// A person with device 1.
fn person() -> Identity {
    let mut person = Identity::unknown(root().public());
    person.begin(&root(), &[device(1)], 1_000);
    person
}

fn standing(person: &Identity) -> Vec<u8> {
    person.standing().iter().map(|device| device.author.bytes()[0]).collect()
}

#[test]
fn a_second_device_stands_by_a_vouch_and_replaces_a_lost_first_one() {
    let mut person = person();
    assert!(person.vouch(&keys(1), device(2)));
    assert_eq!(standing(&person), [1, 2]);
    assert!(person.revoke(&keys(2), device(1).author));
    assert_eq!(standing(&person), [2]);
    // The lost one is still known, for what it wrote before.
    assert_eq!(person.device(device(1).author), Some(device(1)));
    assert!(person.vouch(&keys(2), device(3)));
    assert_eq!(standing(&person), [2, 3]);
}

#[test]
fn a_stranger_vouches_and_revokes_in_vain() {
    let mut person = person();
    assert!(!person.vouch(&keys(9), device(9)));
    assert!(!person.vouch(&keys(9), device(8)));
    assert!(!person.revoke(&keys(9), device(1).author));
    assert_eq!(standing(&person), [1]);
    // Nor with a roster by another root.
    let other = RootKey::from_entropy([1; 16]);
    let mut forged = Identity::unknown(root().public());
    forged.begin(&other, &[device(9)], 9_000);
    let forged = Identity::decode(&forged.encode()).unwrap();
    person.merge(&forged);
    assert_eq!(standing(&person), [1]);
}

#[test]
fn what_a_thief_vouches_for_falls_with_the_stolen_device() {
    let mut person = person();
    person.vouch(&keys(1), device(2));
    let mut stolen = person.clone();
    stolen.vouch(&keys(1), device(66));
    person.revoke(&keys(2), device(1).author);
    person.merge(&stolen);
    assert_eq!(standing(&person), [2]);
}

#[test]
fn devices_that_revoke_each_other_are_both_out_until_the_words_decide() {
    let mut person = person();
    person.vouch(&keys(1), device(2));
    let mut other = person.clone();
    person.revoke(&keys(2), device(1).author);
    other.revoke(&keys(1), device(2).author);
    person.merge(&other);
    assert_eq!(standing(&person), Vec::<u8>::new());
    person.begin(&root(), &[device(2)], 5_000);
    assert_eq!(standing(&person), [2]);
    // What was said under the roster before is over.
    other.vouch(&keys(1), device(66));
    person.merge(&other);
    assert_eq!(standing(&person), [2]);
}

#[test]
fn new_words_on_a_device_with_a_slow_clock_still_count() {
    let mut person = person();
    person.begin(&root(), &[device(3)], 10);
    assert_eq!(standing(&person), [3]);
    assert_eq!(person.devices().len(), 2);
}

#[test]
fn statements_come_to_the_same_in_any_order_and_survive_their_bytes() {
    let mut person = person();
    person.vouch(&keys(1), device(2));
    person.vouch(&keys(2), device(3));
    person.revoke(&keys(3), device(1).author);
    let whole = Identity::decode(&person.encode()).unwrap();
    assert_eq!(whole, person);
    let all: Vec<Statement> = person.statements.iter().cloned().collect();
    for first in 0..all.len() {
        let mut piecewise = Identity::unknown(root().public());
        for at in 0..all.len() {
            let one = all[(first + at * 3) % all.len()].clone();
            piecewise.merge(&Identity { root: root().public(), statements: [one].into() });
        }
        assert_eq!(piecewise.devices(), person.devices());
    }
}

#[test]
fn every_changed_byte_of_a_statement_leaves_it_without_effect() {
    let mut person = person();
    person.vouch(&keys(1), device(2));
    let bytes = person.encode();
    for at in 0..bytes.len() {
        let mut changed = bytes.clone();
        changed[at] ^= 1;
        if let Ok(other) = Identity::decode(&changed) {
            // Another root is another person; else nobody new stands.
            let new = other.standing().into_iter().any(|d| d != device(1) && d != device(2));
            assert!(!new, "changed at {at}");
        }
    }
}

#[test]
fn huge_counts_are_refused_before_anything_is_made() {
    let mut bytes = vec![0x82, 0x58, 32];
    bytes.extend([0; 32]);
    bytes.extend([0x9b, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff]);
    assert!(Identity::decode(&bytes).is_err());
}
