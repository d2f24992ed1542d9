//! A fit as bytes and back, bit for bit, for the book's kept results.
//!
//! ```text
//! 0                                         no delivery explains what was seen
//! 1, delivery 7 f64, covariance 49 f64,     little endian; which readings were
//!    misfit f64, used u16, steps u32        used as bits in the order of Quantity::ALL
//! ```
//! Other failures cost nothing to find again and have no bytes. Start at [`encode`].

use crate::flight::{Delivery, Fit, FlightError, Quantity};

const NUMBERS: usize = 7 + 49 + 1;
const LENGTH: usize = 1 + 8 * NUMBERS + 2 + 4;

/// The bytes of a fit; nothing for what isn't worth keeping.
pub(super) fn encode(fit: &Result<Fit, FlightError>) -> Option<Vec<u8>> {
    let fit = match fit {
        Ok(fit) => fit,
        Err(FlightError::NoFit) => return Some(vec![0]),
        Err(_) => return None,
    };
    let Delivery { head_speed_mps, loft_deg, face_deg, path_deg, attack_deg, toe_mm, high_mm } = fit.delivery;
    let delivery = [head_speed_mps, loft_deg, face_deg, path_deg, attack_deg, toe_mm, high_mm];
    let mut bytes = Vec::with_capacity(LENGTH);
    bytes.push(1);
    let numbers = delivery.iter().chain(fit.covariance.iter().flatten()).chain([&fit.misfit]);
    bytes.extend(numbers.flat_map(|number| number.to_bits().to_le_bytes()));
    let used = fit.used.iter().fold(0_u16, |used, quantity| used | 1 << quantity.place());
    bytes.extend(used.to_le_bytes());
    bytes.extend(u32::try_from(fit.steps).ok()?.to_le_bytes());
    Some(bytes)
}

/// The fit that the bytes hold; nothing for bytes of another form.
pub(super) fn decode(bytes: &[u8]) -> Option<Result<Fit, FlightError>> {
    if bytes == [0] {
        return Some(Err(FlightError::NoFit));
    }
    let rest = bytes.strip_prefix(&[1]).filter(|_| bytes.len() == LENGTH)?;
    let (numbers, end) = rest.split_at_checked(8 * NUMBERS)?;
    let mut numbers =
        numbers.chunks_exact(8).filter_map(|eight| Some(f64::from_le_bytes(eight.try_into().ok()?)));
    let mut next = || numbers.next().unwrap_or(f64::NAN);
    let delivery = Delivery {
        head_speed_mps: next(),
        loft_deg: next(),
        face_deg: next(),
        path_deg: next(),
        attack_deg: next(),
        toe_mm: next(),
        high_mm: next(),
    };
    let covariance = core::array::from_fn(|_| core::array::from_fn(|_| next()));
    let misfit = next();
    let (used, steps) = end.split_first_chunk::<2>()?;
    let used = u16::from_le_bytes(*used);
    let used = Quantity::ALL.into_iter().filter(|quantity| used & 1 << quantity.place() != 0).collect();
    let steps = u32::from_le_bytes(steps.try_into().ok()?) as usize;
    Some(Ok(Fit { delivery, covariance, used, misfit, steps }))
}
