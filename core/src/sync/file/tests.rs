//! The file against itself: it survives its bytes, and any damage is refused.
//! Start at `file`, the one that is damaged; an outside reader is in tests/python.

use miniz_oxide::deflate::compress_to_vec;

use super::*;
use crate::model::{AuthorId, Kind, Moment, PersonId, RecordId, Role, StrandId};
use crate::sync::keys::{DeviceKeys, RootKey};
use crate::sync::run::base;
use crate::sync::{Device, Hlc};

fn keys() -> DeviceKeys {
    DeviceKeys::from_entropy(AuthorId::from_bytes([1; 16]), &[1; 32]).unwrap()
}

fn person() -> Identity {
    let root = RootKey::from_entropy([2; 16]);
    let mut person = Identity::unknown(root.public());
    person.begin(&root, &[Device::of(&keys())], 1_000);
    person
}

fn header() -> Header {
    Header {
        device: AuthorId::from_bytes([1; 16]),
        person: PersonId::from_bytes([2; 16]),
        name: "Ása".into(),
        role: Role::Student,
        made: Moment { utc_ms: 1_772_000_000_000, offset_min: 60 },
        to_name: "Coach".into(),
        to_person: Some(PersonId::from_bytes([3; 16])),
        root: Some(person().root()),
        to_root: Some([8; 32]),
    }
}

fn changes() -> Vec<Change> {
    (1..=20)
        .map(|seq| Change {
            author: AuthorId::from_bytes([1; 16]),
            seq,
            hlc: Hlc::after(None, 1_000 * seq as i64),
            made: Moment { utc_ms: 1_000 * seq as i64, offset_min: 60 },
            kind: Kind::SHOT,
            record: RecordId::from_bytes([seq as u8; 16]),
            body: vec![seq as u8; 30],
        })
        .collect()
}

fn strand() -> StrandHeader {
    StrandHeader {
        strand: StrandId::from_bytes([9; 16]),
        holds: vec![(AuthorId::from_bytes([1; 16]), 20)],
        digest: [5; 32],
        owner: Some(person().root()),
        founder: None,
    }
}

/// The changes in two runs, in one block.
fn runs() -> Vec<(Run, Vec<Change>)> {
    let (strand, mut before) = (strand().strand, base(strand().strand, keys().author()));
    let mut runs = Vec::new();
    for part in changes().chunks(12) {
        let (run, after) = Run::sign(&keys(), strand, before, part);
        runs.push((run, part.to_vec()));
        before = after;
    }
    runs
}

fn file() -> Vec<u8> {
    let mut writer = FileWriter::new(Vec::new(), &header()).unwrap();
    writer.person(&person()).unwrap();
    writer.strand(&strand()).unwrap();
    for (run, changes) in runs() {
        writer.run(keys().author(), &run, &changes).unwrap();
    }
    writer.finish(&keys()).unwrap()
}

fn read(bytes: &[u8]) -> Result<(Header, Vec<Part>), FileError> {
    let mut reader = FileReader::new(bytes)?;
    let mut parts = Vec::new();
    while let Some(part) = reader.next_part()? {
        parts.push(part);
    }
    Ok((reader.header().clone(), parts))
}

#[test]
fn a_file_survives_its_bytes_and_is_the_same_every_time() {
    let (head, parts) = read(&file()).unwrap();
    assert_eq!(head, header());
    let signed = runs().into_iter().map(|(run, _)| run).collect();
    assert_eq!(
        parts,
        [
            Part::Person(person()),
            Part::Strand(strand()),
            Part::Changes(changes()),
            Part::Runs(keys().author(), signed)
        ]
    );
    assert_eq!(file(), file());
}

#[test]
fn every_truncation_is_refused() {
    let whole = file();
    for length in 0..whole.len() {
        assert!(read(&whole[..length]).is_err(), "{length}");
    }
}

#[test]
fn every_changed_byte_is_refused() {
    let whole = file();
    for at in 0..whole.len() {
        let mut damaged = whole.clone();
        damaged[at] ^= 0x10;
        // The version that wrote it is information only, yet checked.
        assert!(read(&damaged).is_err(), "{at}");
    }
}

#[test]
fn what_follows_the_end_is_refused() {
    let mut longer = file();
    longer.push(0);
    assert!(matches!(read(&longer), Err(FileError::Damaged { .. })));
}

#[test]
fn foreign_empty_and_newer_files_say_what_they_are() {
    assert!(matches!(read(b""), Err(FileError::Foreign)));
    assert!(matches!(read(b"PK\x03\x04 something else"), Err(FileError::Foreign)));
    let mut newer = file();
    newer[10] = 4;
    assert!(matches!(read(&newer), Err(FileError::TooNew { needs: 4 })));
}

#[test]
fn unknown_parts_are_skipped_or_refused_by_their_first_letter() {
    let with = |letters: &[u8; 4]| {
        let mut writer = FileWriter::new(Vec::new(), &header()).unwrap();
        writer.chunk(*letters, b"of a newer version").unwrap();
        writer.strand(&strand()).unwrap();
        read(&writer.finish(&keys()).unwrap())
    };
    assert_eq!(with(b"note").unwrap().1, [Part::Strand(strand())]);
    assert!(matches!(with(b"NOTE"), Err(FileError::Damaged { .. })));
}

#[test]
fn a_block_that_opens_to_more_than_it_says_is_refused() {
    let zeros = compress_to_vec(&vec![0; 50_000_000], 9);
    for says in [16_u32, u32::MAX] {
        let mut payload = says.to_le_bytes().to_vec();
        payload.extend(&zeros);
        assert!(open_block(&payload).is_err());
    }
}

#[test]
fn the_whole_is_signed_by_its_sender_only() {
    let whole = file();
    let mut reader = FileReader::new(whole.as_slice()).unwrap();
    assert!(!reader.is_signed_by(&keys().signing_public()), "not before its end");
    while reader.next_part().unwrap().is_some() {}
    assert!(reader.is_signed_by(&keys().signing_public()));
    assert!(!reader.is_signed_by(&keys().sealing_public()));
    assert!(!reader.is_signed_by(&person().root()));
}

#[test]
fn sizes_are_padded_as_the_paper_says() {
    // Algorithm 1 of the paper by hand: from 256 to 511 E is 8 and S is 4, so the
    // last 4 bits are zeros; from 4,096 to 8,191 E is 12 and S is 4: the last 8.
    assert_eq!([256, 257, 288, 289, 511].map(padded), [256, 272, 288, 304, 512]);
    assert_eq!([4096, 4097, 5000].map(padded), [4096, 4352, 5120]);
    for bytes in (4096..2_000_000).step_by(997) {
        let whole = padded(bytes);
        assert!(whole >= bytes && (whole - bytes) as f64 <= 0.12 * bytes as f64, "{bytes} {whole}");
    }
    // Few changes or none: the same size; and a size is always a padded one.
    let mut sizes = Vec::new();
    for count in [0, 1, 20] {
        let mut writer = FileWriter::new(Vec::new(), &header()).unwrap();
        writer.strand(&strand()).unwrap();
        if count > 0 {
            let start = base(strand().strand, keys().author());
            let (run, _) = Run::sign(&keys(), strand().strand, start, &changes()[..count]);
            writer.run(keys().author(), &run, &changes()[..count]).unwrap();
        }
        sizes.push(writer.finish(&keys()).unwrap().len());
    }
    assert_eq!(sizes, [4096; 3]);
}
