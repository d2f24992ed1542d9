//! Sealing: what only certain devices can open, in the age format
//! (age-encryption.org/v1, specified at c2sp.org/age).
//!
//! The rule that must hold: what is read from an opened file has been checked
//! piece by piece (64 kB each), in bounded memory; damage is an error of the
//! reader, never other bytes. The format draws its own random bytes: the one
//! place in the core where they don't come from the caller. Start at [`seal`]
//! and [`open`].

use std::cell::Cell;
use std::io::{self, ErrorKind, Read, Write};
use std::rc::Rc;

use age::{DecryptError, Decryptor, Encryptor};

use super::keys::{DeviceKeys, PublicKey, age_recipient};

/// How a sealed file begins.
pub const START: &[u8] = b"age-encryption.org/v1\n";
/// The most bytes that a header may have: a few hundred devices fit.
const MOST_HEADER_BYTES: u64 = 64 * 1024;

/// Why something could not be sealed or opened.
#[derive(Debug, thiserror::Error)]
pub enum SealError {
    /// There is nobody to seal it to, or a key that isn't one.
    #[error("there is no device to seal it to")]
    Nobody,
    /// It is sealed to other devices.
    #[error("it is not sealed to this device")]
    NotOurs,
    /// It was changed on its way, or ends too early.
    #[error("its seal is broken")]
    Broken,
    /// The system could not read or write it.
    #[error(transparent)]
    Io(#[from] io::Error),
}

/// Writes what only the devices with these sealing keys can open.
/// [`Sealed::finish`] ends it; without that it can't be opened.
///
/// # Errors
/// [`SealError::Nobody`], or what writing reports.
pub fn seal<W: Write>(devices: &[PublicKey], to: W) -> Result<Sealed<W>, SealError> {
    let recipients: Vec<_> = devices.iter().filter_map(age_recipient).collect();
    if recipients.len() != devices.len() {
        return Err(SealError::Nobody);
    }
    let each = recipients.iter().map(|recipient| recipient as &dyn age::Recipient);
    let encryptor = Encryptor::with_recipients(each).map_err(|_| SealError::Nobody)?;
    Ok(Sealed(encryptor.wrap_output(to)?))
}

/// A sealed file being written.
pub struct Sealed<W: Write>(age::stream::StreamWriter<W>);

impl<W: Write> Sealed<W> {
    /// Ends it, and gives back where it was written.
    ///
    /// # Errors
    /// What writing reports.
    pub fn finish(self) -> Result<W, SealError> {
        Ok(self.0.finish()?)
    }
}

impl<W: Write> Write for Sealed<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}

/// Opens what was sealed to a device.
///
/// # Errors
/// Any [`SealError`]; reading on may answer `InvalidData` where it was changed
/// and `UnexpectedEof` where it was cut.
pub fn open<'a, R: Read + 'a>(keys: &DeviceKeys, from: R) -> Result<impl Read + 'a, SealError> {
    let left = Rc::new(Cell::new(MOST_HEADER_BYTES));
    let guarded = Guarded { from, left: Rc::clone(&left) };
    let decryptor = Decryptor::new(guarded).map_err(why)?;
    let opened = decryptor.decrypt(std::iter::once(keys.identity() as &dyn age::Identity)).map_err(why)?;
    left.set(u64::MAX);
    Ok(opened)
}

/// Lets a header take no more than its share of memory.
struct Guarded<R> {
    from: R,
    left: Rc<Cell<u64>>,
}

impl<R: Read> Read for Guarded<R> {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        let left = self.left.get();
        if left == 0 {
            return Err(ErrorKind::InvalidData.into());
        }
        let most = to.len().min(usize::try_from(left).unwrap_or(usize::MAX));
        let read = self.from.read(to.get_mut(..most).unwrap_or_default())?;
        if left != u64::MAX {
            self.left.set(left - read as u64);
        }
        Ok(read)
    }
}

fn why(error: DecryptError) -> SealError {
    match error {
        DecryptError::NoMatchingKeys => SealError::NotOurs,
        DecryptError::Io(error)
            if !matches!(error.kind(), ErrorKind::UnexpectedEof | ErrorKind::InvalidData) =>
        {
            SealError::Io(error)
        }
        _ => SealError::Broken,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::AuthorId;

    fn keys(n: u8) -> DeviceKeys {
        DeviceKeys::from_entropy(AuthorId::from_bytes([n; 16]), &[n; 32]).unwrap()
    }

    fn sealed(to: &[u8], what: &[u8]) -> Vec<u8> {
        let devices: Vec<PublicKey> = to.iter().map(|n| keys(*n).sealing_public()).collect();
        let mut file = seal(&devices, Vec::new()).unwrap();
        file.write_all(what).unwrap();
        file.finish().unwrap()
    }

    fn opened(n: u8, sealed: &[u8]) -> Result<Vec<u8>, SealError> {
        let mut bytes = Vec::new();
        open(&keys(n), sealed)?.read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    #[test]
    fn each_receiver_opens_it_and_nobody_else() {
        let file = sealed(&[1, 2], b"for two");
        assert_eq!(opened(1, &file).unwrap(), b"for two");
        assert_eq!(opened(2, &file).unwrap(), b"for two");
        assert!(matches!(opened(3, &file), Err(SealError::NotOurs)));
        assert!(file.starts_with(START));
        assert!(matches!(seal(&[], Vec::new()), Err(SealError::Nobody)));
    }

    #[test]
    fn every_changed_byte_and_every_cut_is_noticed() {
        let file = sealed(&[1], &[5; 300]);
        for at in 0..file.len() {
            let mut changed = file.clone();
            changed[at] ^= 1;
            assert!(opened(1, &changed).is_err(), "byte {at}");
            assert!(opened(1, &file[..at]).is_err(), "cut at {at}");
        }
        let longer = [file.as_slice(), b"x"].concat();
        assert!(opened(1, &longer).is_err());
    }

    #[test]
    fn the_plain_age_library_opens_ours_and_ours_opens_its_files() {
        let identity: age::x25519::Identity =
            keys(1).to_text().lines().find(|line| line.starts_with("AGE-")).unwrap().parse().unwrap();
        assert_eq!(age::decrypt(&identity, &sealed(&[1], b"ours")).unwrap(), b"ours");
        let theirs = age::encrypt(&identity.to_public(), b"theirs").unwrap();
        assert_eq!(opened(1, &theirs).unwrap(), b"theirs");
    }

    #[test]
    fn an_endless_header_is_given_up_after_its_share() {
        struct Endless(u64);
        impl Read for Endless {
            fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
                let start = usize::try_from(self.0).unwrap();
                for (n, byte) in to.iter_mut().enumerate() {
                    *byte = START
                        .get(start + n)
                        .copied()
                        .unwrap_or(b"-> X a\nAAAA\n"[(start + n - START.len().min(start + n)) % 12]);
                }
                self.0 += to.len() as u64;
                assert!(self.0 < 2 * MOST_HEADER_BYTES + (1 << 16), "it reads on and on");
                Ok(to.len())
            }
        }
        assert!(open(&keys(1), Endless(0)).is_err());
    }
}
