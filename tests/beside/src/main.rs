//! One log of balls, twice as many devices as one: half of it is written on each, then
//! saved, loaded and merged, by us and by two libraries for documents that merge.
//!
//! `beside WHO COUNT` with WHO ours, automerge or loro prints one line; each run is a
//! process of its own, so that its peak memory is its own. A change is one ball with
//! four values, written by itself, under the same identity and with the same time for
//! all three: devices that know nothing of each other need both. Ours is what the product does: signed, sealed,
//! checked, and written to disk; what the signatures cost is told apart. Times are
//! those of the processor, so that they hold on a machine that has other work too;
//! what was waited for stands beside them. Nothing here uses a second thread.
//! Start at `main`.

use std::error::Error;
use std::ops::AddAssign;
use std::time::Instant;

use chalkface_core::model::{Minter, Moment, Now};

type Done<T> = Result<T, Box<dyn Error>>;

/// What one ball says: toward the toe, toward the crown, head speed, carry.
fn ball(n: u64) -> [f64; 4] {
    let mut z = n.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let part = |shift: u32, of: u64| (z >> shift) % of;
    [
        part(0, 500) as f64 / 10.0 - 25.0,
        part(12, 300) as f64 / 10.0 - 15.0,
        38.0 + part(24, 120) as f64 / 10.0,
        160.0 + part(36, 900) as f64 / 10.0,
    ]
}

/// How long something took: on the processor, and on the wall.
#[derive(Default, Clone, Copy)]
struct Took {
    processor_s: f64,
    wall_s: f64,
}

impl AddAssign for Took {
    fn add_assign(&mut self, more: Self) {
        self.processor_s += more.processor_s;
        self.wall_s += more.wall_s;
    }
}

impl std::fmt::Display for Took {
    fn fmt(&self, to: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(to, "{:.2} s ({:.2} waited)", self.processor_s, self.wall_s)
    }
}

/// When balls are written, in seconds since 1970, `BATCH` at a time.
const BEGIN_S: i64 = 1_772_000_000;
const BATCH: u64 = 10_000;

/// What an event brings: a time, and bytes that differ from all others'.
fn event(tick: u64) -> Now {
    let mut entropy = [3; 16];
    entropy[..8].copy_from_slice(&tick.to_le_bytes());
    Now { at: Moment { utc_ms: 1_000 * (BEGIN_S + tick as i64), offset_min: 60 }, entropy }
}

/// The identities of balls and the seconds in which they are written, for the others:
/// made as ours are.
fn identities(count: u64) -> impl Iterator<Item = (u64, String, i64)> {
    let mut minter = Minter::new(event(0));
    (0..count).map(move |n| {
        let tick = 100 + n / BATCH;
        if n % BATCH == 0 {
            minter = Minter::new(event(tick));
        }
        (n, minter.mint().simple().to_string(), BEGIN_S + tick as i64)
    })
}

#[derive(Default)]
struct Figures {
    write: Took,
    save: Took,
    load: Took,
    merge: Took,
    signatures: Took,
    bytes: u64,
    signature_bytes: u64,
}

fn main() -> Done<()> {
    let mut words = std::env::args().skip(1);
    let (Some(who), Some(count)) = (words.next(), words.next()) else {
        return Err("say who (ours, automerge, loro) and how many changes".into());
    };
    let count: u64 = count.parse()?;
    let figures = match who.as_str() {
        "ours" => ours(count)?,
        "automerge" => automerge(count)?,
        "loro" => loro(count)?,
        _ => return Err("ours, automerge or loro".into()),
    };
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak_kb: u64 = status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))
        .and_then(|rest| rest.split_whitespace().next()?.parse().ok())
        .unwrap_or(0);
    println!(
        "{who:9} {count:8} changes: write {}, save {}, load {}",
        figures.write, figures.save, figures.load
    );
    println!("  merge half into half {}, signatures of that {}", figures.merge, figures.signatures);
    println!(
        "  file {} bytes, {:.1} a change, signatures of that {}; peak memory {} MB",
        figures.bytes,
        figures.bytes as f64 / count as f64,
        figures.signature_bytes,
        peak_kb / 1024
    );
    Ok(())
}

/// What this process has used of the processor, by the clock that POSIX has for it.
fn processor_s() -> f64 {
    let mut now = libc::timespec { tv_sec: 0, tv_nsec: 0 };
    // SAFETY: the call only writes into the struct that it is given.
    unsafe { libc::clock_gettime(libc::CLOCK_PROCESS_CPUTIME_ID, &raw mut now) };
    now.tv_sec as f64 + now.tv_nsec as f64 / 1e9
}

fn timed<T>(into: &mut Took, what: impl FnOnce() -> Done<T>) -> Done<T> {
    let (begun, used) = (Instant::now(), processor_s());
    let done = what()?;
    *into += Took { processor_s: processor_s() - used, wall_s: begun.elapsed().as_secs_f64() };
    Ok(done)
}

fn automerge(count: u64) -> Done<Figures> {
    use automerge::transaction::{CommitOptions, Transactable};
    use automerge::{ActorId, AutoCommit, ObjType, ROOT};
    let mut figures = Figures::default();
    let mut begin = AutoCommit::new();
    let balls = begin.put_object(ROOT, "balls", ObjType::Map)?;
    begin.commit();
    let mut halves = [
        begin.fork().with_actor(ActorId::from([1_u8; 16])),
        begin.fork().with_actor(ActorId::from([2_u8; 16])),
    ];
    timed(&mut figures.write, || {
        for (n, id, at_s) in identities(count) {
            let half = &mut halves[usize::from(n >= count / 2)];
            let one = half.put_object(&balls, id, ObjType::Map)?;
            for (key, value) in ["toe_mm", "high_mm", "head_speed_mps", "carry_m"].iter().zip(ball(n)) {
                half.put(&one, *key, value)?;
            }
            half.commit_with(CommitOptions::default().with_time(at_s));
        }
        Ok(())
    })?;
    let [mut first, mut second] = halves;
    timed(&mut figures.merge, || Ok(first.merge(&mut second)?))?;
    let bytes = timed(&mut figures.save, || Ok(first.save()))?;
    figures.bytes = bytes.len() as u64;
    drop((first, second));
    timed(&mut figures.load, || Ok(AutoCommit::load(&bytes)?))?;
    Ok(figures)
}

fn loro(count: u64) -> Done<Figures> {
    use loro::{ExportMode, LoroDoc, LoroMap};
    let mut figures = Figures::default();
    let halves = [LoroDoc::new(), LoroDoc::new()];
    timed(&mut figures.write, || {
        for (n, id, at_s) in identities(count) {
            let half = &halves[usize::from(n >= count / 2)];
            let one = half.get_map("balls").insert_container(&id, LoroMap::new())?;
            for (key, value) in ["toe_mm", "high_mm", "head_speed_mps", "carry_m"].iter().zip(ball(n)) {
                one.insert(key, value)?;
            }
            half.set_next_commit_timestamp(at_s);
            half.commit();
        }
        Ok(())
    })?;
    let update = halves[1].export(ExportMode::all_updates())?;
    timed(&mut figures.merge, || Ok(halves[0].import(&update)?))?;
    let bytes = timed(&mut figures.save, || Ok(halves[0].export(ExportMode::all_updates())?))?;
    figures.bytes = bytes.len() as u64;
    drop((halves, update));
    timed(&mut figures.load, || {
        let doc = LoroDoc::new();
        doc.import(&bytes)?;
        Ok(doc)
    })?;
    Ok(figures)
}

fn ours(count: u64) -> Done<Figures> {
    use chalkface_core::book::{Book, Draft};
    use chalkface_core::model::quantity::{Carry, HeadSpeed};
    use chalkface_core::model::{
        Hand, MarkRead, Name, Reading, RecordId, Role, Shot, StrandId, StrikeMark, Student,
    };
    use chalkface_core::sync::file::{FileReader, Part};
    use chalkface_core::sync::{Card, DeviceKeys, RootKey};
    let mut tick = 0_u64;
    let mut now = || {
        tick += 1;
        event(tick)
    };
    let dir = tempfile::tempdir()?;
    let mut books = Vec::new();
    let mut keys = Vec::new();
    let mut cards: Vec<Card> = Vec::new();
    for (n, (name, role)) in
        [("Ina", Role::Student), ("Bo", Role::Coach), ("Cleo", Role::Coach)].into_iter().enumerate()
    {
        let mut book = Book::create(&dir.path().join(name), Name::new(name)?, role, now())?;
        let own = DeviceKeys::from_entropy(book.device(), &[n as u8 + 1; 32])?;
        book.begin_identity(&own, &RootKey::from_entropy([n as u8 + 1; 16]), now())?;
        cards.push(book.card(&own, now())?);
        books.push(book);
        keys.push(own);
    }
    for (n, book) in books.iter_mut().enumerate() {
        for (m, card) in cards.iter().enumerate() {
            if n != m {
                book.meet(card)?;
            }
        }
    }
    let at = now();
    let strand = StrandId(Minter::new(at).mint());
    let mut student = Student::new(Name::new("Ina")?, Hand::Right);
    student.person = Some(books[0].owner().person);
    books[0].write(strand, at, [Draft::put(RecordId(strand.0), &student)])?;
    let entry = books[0].student("Ina")?;
    for (m, name) in [(1, "Bo"), (2, "Cleo")] {
        let mut file = Vec::new();
        books[0].send(&keys[0], &entry, &Name::new(name)?, now(), true, &mut file)?;
        books[m].receive(Some(&keys[m]), now(), file.as_slice())?;
    }
    let session = RecordId(Minter::new(now()).mint());
    let shot = |n: u64| -> Done<Shot> {
        let [toe, high, speed, carry] = ball(n);
        let mut shot = Shot::of(session);
        shot.mark = Some(StrikeMark::new(toe, high, None, MarkRead::Tap)?);
        shot.readings.head_speed = Some(Reading { value: HeadSpeed::new(speed)?, sigma: None });
        shot.readings.carry = Some(Reading { value: Carry::new(carry)?, sigma: None });
        Ok(shot)
    };
    let mut figures = Figures::default();
    timed(&mut figures.write, || {
        for (half, from, to) in [(0, 0, count / 2), (1, count / 2, count)] {
            for start in (from..to).step_by(BATCH as usize) {
                let at = now();
                let mut minter = Minter::new(at);
                let drafts: Vec<Draft> = (start..(start + BATCH).min(to))
                    .map(|n| Ok(Draft::put(minter.record(), &shot(n)?)))
                    .collect::<Done<_>>()?;
                books[half].write(strand, at, drafts)?;
            }
        }
        Ok(())
    })?;
    let path = dir.path().join("half.chalk");
    books[1].send_file(&keys[1], &entry, &Name::new("Ina")?, now(), true, &path)?;
    timed(&mut figures.merge, || {
        let receipt =
            books[0].receive(Some(&keys[0]), now(), std::io::BufReader::new(std::fs::File::open(&path)?))?;
        if receipt.taken < count - count / 2 || !receipt.refused.is_empty() {
            return Err(format!("{receipt:?}").into());
        }
        Ok(())
    })?;
    // What of that was checking signatures: the same runs once more, by themselves.
    let opened =
        chalkface_core::sync::seal::open(&keys[0], std::io::BufReader::new(std::fs::File::open(&path)?))?;
    let mut reader = FileReader::new(opened)?;
    let mut waiting = std::collections::VecDeque::new();
    while let Some(part) = reader.next_part()? {
        match part {
            Part::Changes(changes) => waiting.extend(changes),
            Part::Runs(author, runs) => {
                for run in runs {
                    let changes: Vec<_> = waiting.drain(..run.present()).collect();
                    timed(&mut figures.signatures, || {
                        let signer = &keys[usize::from(author == keys[1].author())];
                        run.check(&signer.signing_public(), strand, author, &changes).ok_or("a signature")?;
                        Ok(())
                    })?;
                }
            }
            Part::Person(_) | Part::Strand(_) => {}
        }
    }
    let whole = dir.path().join("whole.chalk");
    timed(&mut figures.save, || {
        Ok(books[0].send_file(&keys[0], &entry, &Name::new("Cleo")?, now(), true, &whole)?)
    })?;
    figures.bytes = std::fs::metadata(&whole)?.len();
    timed(&mut figures.load, || {
        books[2].receive(Some(&keys[2]), now(), std::io::BufReader::new(std::fs::File::open(&whole)?))?;
        Ok(())
    })?;
    // A run is 145 bytes and what says whose it is; a file has some more.
    let opened =
        chalkface_core::sync::seal::open(&keys[2], std::io::BufReader::new(std::fs::File::open(&whole)?))?;
    let mut reader = FileReader::new(opened)?;
    while let Some(part) = reader.next_part()? {
        if let Part::Runs(_, runs) = part {
            for run in runs {
                let mut bytes = Vec::new();
                run.encode(&mut bytes);
                figures.signature_bytes += bytes.len() as u64;
            }
        }
    }
    Ok(figures)
}
