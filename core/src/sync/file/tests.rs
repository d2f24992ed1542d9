//! The file against itself: it survives its bytes, and any damage is refused.
//! Start at `file`, the one that is damaged; an outside reader is in tests/python.

use super::*;
use crate::model::{Kind, RecordId};
use crate::sync::Hlc;

fn header() -> Header {
    Header {
        device: AuthorId::from_bytes([1; 16]),
        person: PersonId::from_bytes([2; 16]),
        name: "Ása".into(),
        role: Role::Student,
        made: Moment { utc_ms: 1_772_000_000_000, offset_min: 60 },
        to_name: "Coach".into(),
        to_person: Some(PersonId::from_bytes([3; 16])),
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
    }
}

fn file() -> Vec<u8> {
    let mut writer = FileWriter::new(Vec::new(), &header()).unwrap();
    writer.strand(&strand()).unwrap();
    for change in changes() {
        writer.change(&change).unwrap();
    }
    writer.finish().unwrap()
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
    assert_eq!(parts, [Part::Strand(strand()), Part::Changes(changes())]);
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
    newer[10] = 2;
    assert!(matches!(read(&newer), Err(FileError::TooNew { needs: 2 })));
}

#[test]
fn unknown_parts_are_skipped_or_refused_by_their_first_letter() {
    let with = |letters: &[u8; 4]| {
        let mut writer = FileWriter::new(Vec::new(), &header()).unwrap();
        writer.chunk(*letters, b"of a newer version").unwrap();
        writer.strand(&strand()).unwrap();
        read(&writer.finish().unwrap())
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
