//! The one object: a device's book, and where its person is in it.

use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};

use chalkface_core::book::{Book, DeviceKeys};
use chalkface_core::chart::card_code;
use chalkface_core::model::Moment;
use chalkface_core::screen::{self as core, Loop, Outcome, Told, Work, WorkDone};
use chalkface_core::sync::{self, RootKey, check_phrase};
use chalkface_core::words;

use crate::fault::Fault;
use crate::guard::{guarded, lock};
use crate::records::{Card, KeysWanted, RowsPage, Screen};
use crate::told::{Clock, Event, sized};

/// A device's book and its screens. Calls block: make them from one worker thread.
#[derive(uniffi::Object)]
pub struct Device {
    inner: Mutex<Inner>,
}

struct Inner {
    path: PathBuf,
    /// Nothing once it was closed.
    running: Option<Loop>,
    /// The device's keys, once they were given.
    keys: Option<DeviceKeys>,
    /// The state after the last event that went well.
    kept: Vec<u8>,
    at: Moment,
}

impl Inner {
    fn running(&mut self) -> Result<&mut Loop, Fault> {
        self.running.as_mut().ok_or(Fault::Closed)
    }

    /// Opens everything anew, as after a kill.
    fn mend(&mut self) {
        self.running = None;
        let mut running = Loop::open(&self.path, Some(&self.kept), self.at);
        if let Some(keys) = self.keys.clone() {
            running.give_keys(keys);
        }
        self.running = Some(running);
    }

    fn give(&mut self, keys: DeviceKeys) -> Result<(), Fault> {
        self.running()?.give_keys(keys.clone());
        self.keys = Some(keys);
        Ok(())
    }

    /// The book beside the loop's, for what no screen does.
    fn book(&self) -> Result<Book, Fault> {
        Ok(Book::open(&self.path)?)
    }

    fn keys(&self) -> Result<&DeviceKeys, Fault> {
        self.keys.as_ref().ok_or_else(|| Fault::Invalid { problem: words::screen::NO_KEYS.into() })
    }
}

impl Device {
    fn guarded<T>(&self, act: impl FnOnce(&mut Inner) -> Result<T, Fault>) -> Result<T, Fault> {
        guarded(&mut *lock(&self.inner), act, Inner::mend)
    }

    fn tell(&self, told: &Told, clock: &Clock) -> Result<(), Fault> {
        let now = clock.now()?;
        self.guarded(|inner| {
            inner.at = now.at;
            inner.running()?.act(told, now);
            inner.kept = inner.running()?.state();
            Ok(())
        })
    }
}

#[uniffi::export]
impl Device {
    /// Opens the book at `path`, or offers to make one. `state` are the bytes that `state`
    /// gave, if there are any.
    #[uniffi::constructor]
    pub fn open(path: String, state: Option<Vec<u8>>, clock: Clock) -> Result<Arc<Self>, Fault> {
        let at = clock.at();
        let path = PathBuf::from(path);
        let mut opened = None;
        guarded(
            &mut opened,
            |opened| {
                let running = Loop::open(&path, state.as_deref(), at);
                let kept = running.state();
                *opened = Some(Inner { path: path.clone(), running: Some(running), keys: None, kept, at });
                Ok(())
            },
            |_| {},
        )?;
        let inner = opened.ok_or(Fault::Closed)?;
        Ok(Arc::new(Self { inner: Mutex::new(inner) }))
    }

    /// What is shown now.
    pub fn screen(&self) -> Result<Screen, Fault> {
        self.guarded(|inner| Ok(Screen::from(&*inner.running()?.screen())))
    }

    /// Rows of a long list, after the row with a key; at most 200.
    pub fn rows(&self, key: String, after: Option<String>, count: u32) -> Result<RowsPage, Fault> {
        self.guarded(|inner| {
            #[cfg(feature = "panics")]
            crate::guard::on_purpose(&key);
            Ok(inner.running()?.rows(&key, after.as_deref(), count as usize).into())
        })
    }

    /// Gives this device's keys, as the text that the shell keeps in its safe place.
    pub fn give_keys(&self, text: String) -> Result<(), Fault> {
        let keys =
            DeviceKeys::from_text(&text).map_err(|error| Fault::Invalid { problem: error.to_string() })?;
        self.guarded(|inner| inner.give(keys))
    }

    /// Which keys this device waits for.
    pub fn keys_wanted(&self) -> Result<KeysWanted, Fault> {
        self.guarded(|inner| {
            if inner.keys.is_some() || !inner.path.is_file() {
                return Ok(KeysWanted::None);
            }
            // A book that can't be opened is told on its screen.
            let Ok(book) = inner.book() else { return Ok(KeysWanted::None) };
            Ok(if book.identity()?.is_some() { KeysWanted::Kept } else { KeysWanted::New })
        })
    }

    /// New keys for this device, from 32 unpredictable bytes, as text. Nothing knows them yet:
    /// keep the text safely first, then call `begin_keys` with it.
    pub fn make_keys(&self, entropy: Vec<u8>) -> Result<String, Fault> {
        let entropy: [u8; 32] = sized(&entropy)?;
        self.guarded(|inner| {
            let keys = DeviceKeys::from_entropy(inner.book()?.device(), &entropy)?;
            Ok(keys.to_text())
        })
    }

    /// From now on these are the device's keys, and it is its owner's, who is known by twelve
    /// new words made of 16 unpredictable bytes. Answers what to tell them: the words and their use.
    pub fn begin_keys(&self, text: String, root: Vec<u8>, clock: Clock) -> Result<String, Fault> {
        let (now, root) = (clock.now()?, RootKey::from_entropy(sized(&root)?));
        let keys = DeviceKeys::from_text(&text)?;
        self.guarded(|inner| {
            inner.book()?.begin_identity(&keys, &root, now)?;
            inner.give(keys)?;
            Ok(words::people::phrase_use(&root.phrase()))
        })
    }

    /// The card of this device's owner, as text and as a code to be read off the screen.
    pub fn card(&self, clock: Clock) -> Result<Card, Fault> {
        let now = clock.now()?;
        self.guarded(|inner| {
            let (book, keys) = (inner.book()?, inner.keys()?);
            let text = book.card(keys, now)?.text();
            let phrase = book.identity()?.map_or_else(String::new, |own| check_phrase(&own.root()));
            let code = card_code(&text, book.owner().name.as_str(), &phrase)
                .map_err(|error| Fault::Invalid { problem: error.to_string() })?;
            Ok(Card { text, code: (&code).into() })
        })
    }

    /// Takes in somebody's card. Answers what is known of them now.
    pub fn meet(&self, card: String) -> Result<String, Fault> {
        let card = sync::Card::read(&card).map_err(|error| Fault::Invalid { problem: error.to_string() })?;
        self.guarded(|inner| Ok(words::people::met(&inner.book()?.meet(&card)?)))
    }

    /// Writes a whole copy of the book, as it stands at one moment, into a new file.
    pub fn snapshot(&self, to: String) -> Result<(), Fault> {
        self.guarded(|inner| Ok(inner.book()?.backup(&PathBuf::from(to))?))
    }

    /// Takes in what happened. `seen` is the turn of the screen on which it did.
    pub fn act(&self, event: Event, seen: Option<u64>, clock: Clock) -> Result<(), Fault> {
        self.tell(&Told { seen, event: event.into() }, &clock)
    }

    /// Answers a wish for a file with one that was picked.
    pub fn picked(&self, effect: u64, name: String, bytes: &[u8], clock: Clock) -> Result<(), Fault> {
        let outcome = Outcome::File { name, bytes: bytes.to_vec() };
        self.tell(&core::Event::Answer { effect, outcome }.into(), &clock)
    }

    /// A file was opened from another program.
    pub fn handed(&self, name: String, bytes: &[u8], clock: Clock) -> Result<(), Fault> {
        self.tell(&core::Event::Handed { name, bytes: bytes.to_vec() }.into(), &clock)
    }

    /// The bytes of a picture that the screen shows, as JPEG; none where it shows another.
    pub fn picture(&self, id: String) -> Result<Option<Vec<u8>>, Fault> {
        self.guarded(|inner| Ok(inner.running()?.picture(&id).map(|jpeg| jpeg.to_vec())))
    }

    /// The bytes of a file that an effect asks to share.
    pub fn content(&self, effect: u64) -> Result<Vec<u8>, Fault> {
        self.guarded(|inner| {
            inner.running()?.content(effect).map_err(|problem| Fault::Invalid { problem: problem.0 })
        })
    }

    /// Where the person is, as bytes for `open`.
    pub fn state(&self) -> Result<Vec<u8>, Fault> {
        self.guarded(|inner| Ok(inner.running()?.state()))
    }

    /// The long computation that the screen waits for, if any.
    pub fn work(&self) -> Result<Option<Arc<Ticket>>, Fault> {
        self.guarded(|inner| {
            let work = inner.running()?.work();
            Ok(work.map(|work| {
                let id = work.ticket;
                Arc::new(Ticket {
                    id,
                    work: Mutex::new(Some(work)),
                    done: Mutex::new(None),
                    cancelled: AtomicBool::new(false),
                })
            }))
        })
    }

    /// Takes in what a ticket's run has found; one that was cancelled brings nothing.
    pub fn finish(&self, ticket: Arc<Ticket>) -> Result<(), Fault> {
        let done = lock(&ticket.done).take().filter(|_| !ticket.cancelled.load(Ordering::Relaxed));
        self.guarded(|inner| {
            if let Some(done) = done {
                inner.running()?.finish(done);
            }
            Ok(())
        })
    }

    /// The digest of what the book holds of each student: equal books have equal ones.
    pub fn digests(&self) -> Result<Vec<String>, Fault> {
        self.guarded(|inner| {
            inner.running()?.digests().map_err(|error| Fault::Storage { problem: error.to_string() })
        })
    }

    /// Closes the book. Every later call says so.
    pub fn end(&self) -> Result<(), Fault> {
        self.guarded(|inner| {
            inner.running = None;
            Ok(())
        })
    }
}

/// A long computation. `run` it on any thread; it takes no lock of the [`Device`].
#[derive(uniffi::Object)]
pub struct Ticket {
    id: u64,
    work: Mutex<Option<Work>>,
    done: Mutex<Option<WorkDone>>,
    cancelled: AtomicBool,
}

#[uniffi::export]
impl Ticket {
    /// Its number, as on the screen.
    pub fn number(&self) -> Result<u64, Fault> {
        Ok(self.id)
    }

    /// Does it. A second call does nothing.
    pub fn run(&self) -> Result<(), Fault> {
        let Some(work) = lock(&self.work).take() else { return Ok(()) };
        if self.cancelled.load(Ordering::Relaxed) {
            return Ok(());
        }
        let done = guarded(&mut (), |()| Ok(work.run()), |()| {})?;
        *lock(&self.done) = Some(done);
        Ok(())
    }

    /// Whether it was done.
    pub fn is_done(&self) -> Result<bool, Fault> {
        Ok(lock(&self.done).is_some())
    }

    /// Gives it up: what it finds is dropped.
    pub fn cancel(&self) -> Result<(), Fault> {
        self.cancelled.store(true, Ordering::Relaxed);
        Ok(())
    }
}
