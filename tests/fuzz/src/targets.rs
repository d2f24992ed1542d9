// Shared by the fuzzer and by the ordinary tests, which include this file.

/// All targets.
pub const TARGETS: [Target; 5] =
    [("envelope", envelope), ("change", change), ("card", card), ("csv", csv), ("export", export)];

/// An opened exchange file, with its checks made good so that bytes behind them are reached.
pub fn envelope(bytes: &[u8]) {
    use chalkface_core::sync::file::{FileReader, Part};
    let read = |bytes: &[u8]| {
        let Ok(mut reader) = FileReader::new(bytes) else { return };
        while let Ok(Some(part)) = reader.next_part() {
            if let Part::Changes(changes) = part {
                for each in changes {
                    change(&each.body);
                }
            }
        }
    };
    read(bytes);
    read(&mend(bytes));
}

/// The same file with its checks made good, chunk by chunk, as far as it has any.
fn mend(bytes: &[u8]) -> Vec<u8> {
    use sha2::{Digest, Sha256};
    let (start, mut rest) = bytes.split_at(bytes.len().min(12));
    let mut good = start.to_vec();
    while let Some((head, after)) = rest.split_at_checked(8) {
        let length = u32::from_le_bytes([head[4], head[5], head[6], head[7]]) as usize;
        let (payload, after) = after.split_at(length.min(after.len()));
        let mut payload = payload.to_vec();
        if head.starts_with(b"DONE") {
            payload.resize(payload.len().max(32), 0);
            let whole = Sha256::digest(&good);
            payload[..32].copy_from_slice(&whole);
        }
        good.extend_from_slice(&head[..4]);
        good.extend_from_slice(&(payload.len() as u32).to_le_bytes());
        good.extend_from_slice(&payload);
        let check = Sha256::digest(&good);
        good.extend_from_slice(&check[..8]);
        rest = after.split_at(after.len().min(8)).1;
    }
    good
}

/// The body of a change, a block, a run and a state: what they say comes back.
pub fn change(bytes: &[u8]) {
    use chalkface_core::sync::{Body, State};
    if let Ok(body) = Body::decode(bytes) {
        let again = body.encode();
        assert_eq!(Body::decode(&again).map(|body| body.encode()).ok(), Some(again));
    }
    if let Ok(state) = State::decode(bytes) {
        let _ = (state.current(), state.conflicts(), state.is_removed());
    }
    let _ = chalkface_core::sync::block::read_block(bytes);
    let _ = chalkface_core::sync::Identity::decode(bytes);
}

/// A contact card as bytes and as text.
pub fn card(bytes: &[u8]) {
    use chalkface_core::sync::Card;
    if let Ok(card) = Card::decode(bytes) {
        assert_eq!(Card::read(&card.text()).as_ref(), Ok(&card));
    }
    let _ = Card::read(&String::from_utf8_lossy(bytes));
}

/// A log as CSV.
pub fn csv(bytes: &[u8]) {
    use chalkface_core::table::{Options, read};
    let _ = read(bytes, &Options::default());
    let lenient = Options { skip_bad_rows: true, allow_unknown_columns: true, ..Options::default() };
    let _ = read(bytes, &lenient);
}

/// An export as JSON and as CSV.
pub fn export(bytes: &[u8]) {
    use chalkface_core::book::export::{json, sheet};
    for item in json::read(bytes).take_while(Result::is_ok) {
        drop(item);
    }
    for item in sheet::read(bytes).take_while(Result::is_ok) {
        drop(item);
    }
}
