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
        (Control::Picture { points, .. }, Event::Choose { option, .. }) => {
            points.iter().any(|point| point.key == *option)
        }
        (Control::Picture { picture, points, .. }, Event::Drag { point, x_px, y_px, no, .. }) => {
            let inside = (0.0..=f64::from(picture.width_px)).contains(x_px)
                && (0.0..=f64::from(picture.height_px)).contains(y_px);
            let fits = inside && points.iter().any(|of| of.key == *point && *no > of.no);
            if fits {
                held.put(point_key(key, point), Some(format!("{x_px} {y_px} {no}").as_str()));
            }
            fits
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

/// Under which key the place of a dragged point is held, with its number.
pub(super) fn point_key(key: &str, point: &str) -> String {
    format!("{key}.{point}")
}

fn key(event: &Event) -> Option<&str> {
    match event {
        Event::Press { key }
        | Event::Choose { key, .. }
        | Event::Switch { key, .. }
        | Event::Write { key, .. }
        | Event::Slide { key, .. }
        | Event::Touch { key, .. }
        | Event::Drag { key, .. }
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
