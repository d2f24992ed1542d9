//! A drawing put elsewhere on a larger one.

use super::scene::{Item, Point, Step, Text};

impl Item {
    /// The same, further right and down.
    #[must_use]
    pub fn moved(&self, right_mm: f64, down_mm: f64) -> Self {
        let mut item = self.clone();
        let shift = |point: &mut Point| {
            point.x_mm += right_mm;
            point.y_mm += down_mm;
        };
        match &mut item {
            Self::Line { from, to, .. } => {
                shift(from);
                shift(to);
            }
            Self::Path { steps, .. } => steps.iter_mut().for_each(|step| match step {
                Step::Move { to } | Step::Line { to } => shift(to),
                Step::Curve { first, second, to } => {
                    shift(first);
                    shift(second);
                    shift(to);
                }
                Step::Close => {}
            }),
            Self::Rect { corner: at, .. }
            | Self::Circle { centre: at, .. }
            | Self::Ellipse { centre: at, .. }
            | Self::Marker { at, .. }
            | Self::Text(Text { at, .. }) => shift(at),
            Self::Group { items, .. } => {
                *items = items.iter().map(|item| item.moved(right_mm, down_mm)).collect();
            }
        }
        item
    }
}
