//! Taking in a file.

use crate::screen::run::{Do, Problem};

/// A file was picked.
pub fn picked(_: &mut Do<'_>, _: &str, _: &[u8]) -> Result<(), Problem> {
    Ok(())
}
