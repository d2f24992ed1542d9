//! The display list: what a chart is made of.
//!
//! Millimetres, x to the right, y down, origin at the top left corner. Items are
//! painted in order, later over earlier.
//!
//! Invariant: a scene is plain data without any reference outside itself; it says
//! in words what it shows (`alt` of the scene and of its groups); colours are
//! roles, never values.
//!
//! Where to start: [`Scene`], then [`Item`].

use serde::Serialize;

/// A chart, ready to be drawn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Scene {
    /// One line that names the chart.
    pub title: String,
    /// What the chart shows, in sentences, for who can't see it.
    pub alt: String,
    /// Width, mm.
    pub width_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
    /// What to draw, in order.
    pub items: Vec<Item>,
}

/// What a colour is for. A [`Theme`](super::Theme) gives it its value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Background.
    Paper,
    /// Text and main lines.
    Ink,
    /// Secondary text and lines.
    Muted,
    /// Grid lines.
    Grid,
    /// The club face, or any other surface.
    Surface,
    /// What asks for attention.
    Flag,
    /// First of the six series: the latest.
    AccentA,
    /// Second series.
    AccentB,
    /// Third series.
    AccentC,
    /// Fourth series.
    AccentD,
    /// Fifth series.
    AccentE,
    /// Sixth series.
    AccentF,
    /// Modules of a code that cameras read: dark in every theme.
    CodeDark,
    /// What is under and around them: light in every theme, as many readers know no other.
    CodeLight,
}

/// Line pattern. Lengths are in multiples of the line's width.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Dash {
    /// Unbroken.
    Solid,
    /// Long strokes.
    Dashed,
    /// Dots.
    Dotted,
}

impl Dash {
    /// Stroke and gap lengths in multiples of the line's width; empty if solid.
    pub fn pattern(self) -> &'static [f64] {
        match self {
            Self::Solid => &[],
            Self::Dashed => &[5.0, 3.5],
            Self::Dotted => &[0.1, 2.6],
        }
    }
}

/// How an outline and its inside are painted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Style {
    /// Colour of the inside.
    pub fill: Option<Role>,
    /// Opacity of the inside, 0 to 1.
    pub fill_opacity: f64,
    /// Colour of the line.
    pub stroke: Option<Role>,
    /// Width of the line, mm.
    pub stroke_mm: f64,
    /// Pattern of the line.
    pub dash: Dash,
}

impl Style {
    /// A line of a colour and width.
    pub const fn line(role: Role, stroke_mm: f64) -> Self {
        Self { fill: None, fill_opacity: 1.0, stroke: Some(role), stroke_mm, dash: Dash::Solid }
    }

    /// A filled shape without a line.
    pub const fn fill(role: Role) -> Self {
        Self { fill: Some(role), fill_opacity: 1.0, stroke: None, stroke_mm: 0.0, dash: Dash::Solid }
    }

    /// The same with a line pattern.
    #[must_use]
    pub const fn dashed(mut self, dash: Dash) -> Self {
        self.dash = dash;
        self
    }

    /// The same with an inside.
    #[must_use]
    pub const fn filled(mut self, role: Role, opacity: f64) -> Self {
        self.fill = Some(role);
        self.fill_opacity = opacity;
        self
    }

    /// The same with a line around it.
    #[must_use]
    pub const fn edged(mut self, role: Role, stroke_mm: f64) -> Self {
        self.stroke = Some(role);
        self.stroke_mm = stroke_mm;
        self
    }
}

/// A place on the scene, mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Point {
    /// To the right of the left edge, mm.
    pub x_mm: f64,
    /// Below the top edge, mm.
    pub y_mm: f64,
}

/// Makes a [`Point`].
pub const fn at(x_mm: f64, y_mm: f64) -> Point {
    Point { x_mm, y_mm }
}

/// A step of a path.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "step", rename_all = "snake_case")]
pub enum Step {
    /// Starts a new line.
    Move {
        /// Where.
        to: Point,
    },
    /// A straight line.
    Line {
        /// To where.
        to: Point,
    },
    /// A cubic Bezier curve.
    Curve {
        /// First control point.
        first: Point,
        /// Second control point.
        second: Point,
        /// To where.
        to: Point,
    },
    /// Back to the start of this line.
    Close,
}

/// The shape of a marker.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Shape {
    /// Round.
    Disc,
    /// Upright square.
    Square,
    /// Triangle, point up.
    Triangle,
    /// Square on its corner.
    Diamond,
    /// Triangle, point down.
    Wedge,
    /// Six-pointed asterisk of three strokes: has no inside.
    Star,
    /// Upright cross of two strokes: has no inside.
    Plus,
}

/// Which end of a text stands at its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Anchor {
    /// Its left end.
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

/// Weight of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Weight {
    /// Running text.
    Regular,
    /// Titles and names.
    Bold,
}

/// One line of text. Its point lies on the baseline.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Text {
    /// Where.
    pub at: Point,
    /// What, unescaped.
    pub text: String,
    /// Font size, mm.
    pub size_mm: f64,
    /// Which end stands at the point.
    pub anchor: Anchor,
    /// Weight.
    pub weight: Weight,
    /// Colour.
    pub role: Role,
    /// Whether a rim of paper sets it off from what lies under it.
    pub halo: bool,
}

/// A drawing primitive.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Item {
    /// A straight line.
    Line {
        /// From where.
        from: Point,
        /// To where.
        to: Point,
        /// Paint.
        style: Style,
    },
    /// Lines and curves.
    Path {
        /// The steps.
        steps: Vec<Step>,
        /// Paint.
        style: Style,
    },
    /// An upright rectangle.
    Rect {
        /// Top left corner.
        corner: Point,
        /// Width, mm.
        width_mm: f64,
        /// Height, mm.
        height_mm: f64,
        /// Radius of the corners, mm.
        round_mm: f64,
        /// Paint.
        style: Style,
    },
    /// A circle.
    Circle {
        /// Centre.
        centre: Point,
        /// Radius, mm.
        radius_mm: f64,
        /// Paint.
        style: Style,
    },
    /// An ellipse.
    Ellipse {
        /// Centre.
        centre: Point,
        /// Half axis along the turned x axis, mm.
        semi_x_mm: f64,
        /// Half axis along the turned y axis, mm.
        semi_y_mm: f64,
        /// Turn of the axes, degrees, clockwise as seen.
        turn_deg: f64,
        /// Paint.
        style: Style,
    },
    /// A data point.
    Marker {
        /// Centre.
        at: Point,
        /// Shape.
        shape: Shape,
        /// Diameter of a disc of the same weight, mm.
        size_mm: f64,
        /// Paint.
        style: Style,
    },
    /// A line of text.
    Text(Text),
    /// Items that belong together.
    Group {
        /// A name for this part that stays as long as its meaning; unique in the
        /// scene.
        key: String,
        /// What this part shows, in words; empty if it only decorates.
        alt: String,
        /// Its items.
        items: Vec<Item>,
    },
}

impl Item {
    /// A group.
    pub fn group(key: impl Into<String>, alt: impl Into<String>, items: Vec<Self>) -> Self {
        Self::Group { key: key.into(), alt: alt.into(), items }
    }

    /// A straight line.
    pub const fn line(from: Point, to: Point, style: Style) -> Self {
        Self::Line { from, to, style }
    }
}

impl Shape {
    /// Its outline about a point, as steps, for a size in mm. A disc is four
    /// curves with the usual constant 0.5523, round to 0.03 %. Sizes are balanced
    /// so that all shapes weigh alike.
    pub fn steps(self, centre: Point, size_mm: f64) -> Vec<Step> {
        let r = 0.5 * size_mm;
        let p = |x: f64, y: f64| at(centre.x_mm + x * r, centre.y_mm + y * r);
        let polygon = |corners: &[(f64, f64)]| -> Vec<Step> {
            let mut steps: Vec<Step> = corners.iter().map(|&(x, y)| Step::Line { to: p(x, y) }).collect();
            if let (Some(first), Some(&(x, y))) = (steps.first_mut(), corners.first()) {
                *first = Step::Move { to: p(x, y) };
            }
            steps.push(Step::Close);
            steps
        };
        let strokes = |ends: &[(f64, f64)]| -> Vec<Step> {
            ends.iter()
                .flat_map(|&(x, y)| [Step::Move { to: p(x, y) }, Step::Line { to: p(-x, -y) }])
                .collect()
        };
        match self {
            Self::Disc => {
                const K: f64 = 0.5523;
                let curve = |a: (f64, f64), b: (f64, f64), c: (f64, f64)| Step::Curve {
                    first: p(a.0, a.1),
                    second: p(b.0, b.1),
                    to: p(c.0, c.1),
                };
                vec![
                    Step::Move { to: p(1.0, 0.0) },
                    curve((1.0, K), (K, 1.0), (0.0, 1.0)),
                    curve((-K, 1.0), (-1.0, K), (-1.0, 0.0)),
                    curve((-1.0, -K), (-K, -1.0), (0.0, -1.0)),
                    curve((K, -1.0), (1.0, -K), (1.0, 0.0)),
                    Step::Close,
                ]
            }
            Self::Square => polygon(&[(-0.88, -0.88), (0.88, -0.88), (0.88, 0.88), (-0.88, 0.88)]),
            Self::Triangle => polygon(&[(0.0, -1.2), (1.1, 0.78), (-1.1, 0.78)]),
            Self::Wedge => polygon(&[(0.0, 1.2), (1.1, -0.78), (-1.1, -0.78)]),
            Self::Diamond => polygon(&[(0.0, -1.26), (1.02, 0.0), (0.0, 1.26), (-1.02, 0.0)]),
            Self::Star => strokes(&[(0.0, 1.1), (0.953, 0.55), (0.953, -0.55)]),
            Self::Plus => strokes(&[(0.0, 1.1), (1.1, 0.0)]),
        }
    }

    /// Whether it has an inside that can be filled.
    pub const fn has_inside(self) -> bool {
        !matches!(self, Self::Star | Self::Plus)
    }
}
