//! A panic never crosses: it is caught, the loop is opened anew from its last state, and the
//! caller gets an error with a number. No lock stays poisoned.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

use crate::fault::Fault;

static NEXT: AtomicU64 = AtomicU64::new(1);

/// The lock, whatever happened to whoever held it.
pub fn lock<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Does something; after a panic, `mend` puts right what it left, and the fault is told.
pub fn guarded<S, T>(
    state: &mut S,
    act: impl FnOnce(&mut S) -> Result<T, Fault>,
    mend: impl FnOnce(&mut S),
) -> Result<T, Fault> {
    let done = catch_unwind(AssertUnwindSafe(|| act(state)));
    done.unwrap_or_else(|_| {
        let id = NEXT.fetch_add(1, Ordering::Relaxed);
        // What mends may fail as well: then the object counts as closed.
        let _ = catch_unwind(AssertUnwindSafe(|| mend(state)));
        Err(Fault::Unexpected { id })
    })
}

/// What a shell's test falls over, in a library that was built for it.
#[cfg(feature = "panics")]
pub fn on_purpose(key: &str) {
    assert!(key != "panic on purpose", "it was asked for");
}
