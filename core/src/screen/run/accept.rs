//! Which events fit the screen that was shown, and what of them is held.
//!
//! The rule: an event whose key, option or number isn't offered changes nothing; an older
//! text or amount never overwrites a newer one. Start at [`accept`].

use super::held::Held;
use crate::screen::control::Control;
use crate::screen::event::Event;
use crate::screen::part::{Screen, What};

/// Whether an event fits. What is chosen, switched, written or slid is held under its
/// control's key.
pub(super) fn accept(screen: &Screen, event: &Event, held: &mut Held) -> bool {
    let Some(key) = key(event) else { return false };
    let mut controls = screen.parts.iter().filter_map(|part| match &part.what {
        What::Do(control) => Some(control),
        What::Read(_) => None,
    });
    let Some(control) = controls.find(|control| control.key() == key) else { return false };
    match (control, event) {
        (Control::Action { .. } | Control::Counter { .. }, Event::Press { .. })
        | (Control::Rows { .. }, Event::Open { .. }) => true,
        (
            Control::Choice { options, .. } | Control::Cells { cells: options, .. },
            Event::Choose { option, .. },
        ) => {
            let there = options.iter().any(|choosable| choosable.key == *option);
            if there {
                held.put(key, Some(option.as_str()));
            }
            there
        }
        (Control::Touch { places, .. }, Event::Choose { option, .. }) => {
            places.iter().any(|place| place.key == *option)
        }
        (Control::Touch { scene, .. }, Event::Touch { x_mm, y_mm, .. }) => {
            (0.0..=scene.width_mm).contains(x_mm) && (0.0..=scene.height_mm).contains(y_mm)
        }
        (Control::Switch { .. }, Event::Switch { on, .. }) => {
            held.put(key, Some(*on));
            true
        }
        (Control::Field { no: known, .. }, Event::Write { text, no, .. }) if no > known => {
            held.put(key, Some(text.as_str()));
            held.put(no_key(key), Some(*no as f64));
            true
        }
        (Control::Amount { no: known, low, high, .. }, Event::Slide { value, no, .. }) if no > known => {
            if !value.is_finite() {
                return false;
            }
            held.put(key, Some(value.clamp(*low, *high)));
            held.put(no_key(key), Some(*no as f64));
            true
        }
        _ => false,
    }
}

/// Under which key the number of a field's latest text is held.
pub(super) fn no_key(key: &str) -> String {
    format!("#{key}")
}

fn key(event: &Event) -> Option<&str> {
    match event {
        Event::Press { key }
        | Event::Choose { key, .. }
        | Event::Switch { key, .. }
        | Event::Write { key, .. }
        | Event::Slide { key, .. }
        | Event::Touch { key, .. }
        | Event::Open { key, .. } => Some(key),
        Event::Wake
        | Event::Go { .. }
        | Event::Handed { .. }
        | Event::Back
        | Event::Undo
        | Event::Dismiss { .. }
        | Event::Answer { .. } => None,
    }
}
