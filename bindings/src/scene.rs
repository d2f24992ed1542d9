//! A drawing as a flat list of shapes in millimetres, in the order in which to paint them.

use chalkface_core::chart;
use chalkface_core::chart::scene::{Anchor, Dash, Item, Point, Role, Step, Style, Weight};

/// A drawing.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
#[allow(missing_docs, reason = "each field is documented at the core's Scene")]
pub struct Scene {
    pub title: String,
    pub alt: String,
    pub width_mm: f64,
    pub height_mm: f64,
    pub shapes: Vec<Shape>,
    pub groups: Vec<Group>,
}

/// A part of a drawing that says what it shows: shapes from `first`, `count` of them.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
#[allow(missing_docs, reason = "each field is documented at the core's Item::Group")]
pub struct Group {
    pub key: String,
    pub alt: String,
    pub first: u32,
    pub count: u32,
    /// What it takes up: x, y, width, height, mm; empty if nothing.
    pub bounds: Vec<f64>,
}

/// A shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, uniffi::Enum)]
pub enum ShapeKind {
    /// `numbers`: x, y, x, y.
    Line,
    /// `numbers`: steps one after another: 0 x y begins, 1 x y draws a line, 2 and six numbers a
    /// cubic curve, 3 closes.
    Path,
    /// `numbers`: x, y, width, height, radius of the corners.
    Rect,
    /// `numbers`: x, y, half axes, turn in degrees clockwise.
    Ellipse,
    /// `numbers`: x, y of the baseline's point, size.
    Text,
}

/// One shape and how it is painted. Roles are `paper`, `ink`, `muted`, `grid`, `surface`,
/// `flag`, `accent_a` to `accent_f`, `code_dark`, `code_light`; an empty one paints nothing.
#[derive(Debug, Clone, PartialEq, uniffi::Record)]
#[allow(missing_docs, reason = "each field is documented at the core's Style and Text")]
pub struct Shape {
    pub kind: ShapeKind,
    pub numbers: Vec<f64>,
    pub fill: String,
    pub fill_opacity: f64,
    pub stroke: String,
    pub stroke_mm: f64,
    /// Strokes and gaps in multiples of the line's width; empty if it is solid.
    pub dash: Vec<f64>,
    pub text: String,
    /// `start`, `middle` or `end`; with ` bold` and ` halo` behind it where so.
    pub anchor: String,
}

impl From<&chart::Scene> for Scene {
    fn from(of: &chart::Scene) -> Self {
        let mut flat = Self {
            title: of.title.clone(),
            alt: of.alt.clone(),
            width_mm: of.width_mm,
            height_mm: of.height_mm,
            shapes: Vec::new(),
            groups: Vec::new(),
        };
        for item in &of.items {
            flat.add(item);
        }
        flat
    }
}

impl Scene {
    fn add(&mut self, item: &Item) {
        match item {
            Item::Line { from, to, style } => {
                self.paint(ShapeKind::Line, vec![from.x_mm, from.y_mm, to.x_mm, to.y_mm], *style);
            }
            Item::Path { steps: of, style } => self.paint(ShapeKind::Path, steps(of), *style),
            Item::Rect { corner, width_mm, height_mm, round_mm, style } => {
                let numbers = vec![corner.x_mm, corner.y_mm, *width_mm, *height_mm, *round_mm];
                self.paint(ShapeKind::Rect, numbers, *style);
            }
            Item::Circle { centre, radius_mm, style } => {
                let numbers = vec![centre.x_mm, centre.y_mm, *radius_mm, *radius_mm, 0.0];
                self.paint(ShapeKind::Ellipse, numbers, *style);
            }
            Item::Ellipse { centre, semi_x_mm, semi_y_mm, turn_deg, style } => {
                let numbers = vec![centre.x_mm, centre.y_mm, *semi_x_mm, *semi_y_mm, *turn_deg];
                self.paint(ShapeKind::Ellipse, numbers, *style);
            }
            Item::Marker { at, shape, size_mm, style } => {
                self.paint(ShapeKind::Path, steps(&shape.steps(*at, *size_mm)), *style);
            }
            Item::Text(text) => {
                let anchor = match text.anchor {
                    Anchor::Start => "start",
                    Anchor::Middle => "middle",
                    Anchor::End => "end",
                };
                let bold = if text.weight == Weight::Bold { " bold" } else { "" };
                let halo = if text.halo { " halo" } else { "" };
                let style = Style::fill(text.role);
                self.paint(ShapeKind::Text, vec![text.at.x_mm, text.at.y_mm, text.size_mm], style);
                if let Some(shape) = self.shapes.last_mut() {
                    shape.text.clone_from(&text.text);
                    shape.anchor = format!("{anchor}{bold}{halo}");
                }
            }
            Item::Group { key, alt, items } => {
                let first = self.shapes.len() as u32;
                for item in items {
                    self.add(item);
                }
                let count = self.shapes.len() as u32 - first;
                let bounds = self.shapes.get(first as usize..).map_or_else(Vec::new, bounds);
                self.groups.push(Group { key: key.clone(), alt: alt.clone(), first, count, bounds });
            }
        }
    }

    fn paint(&mut self, kind: ShapeKind, numbers: Vec<f64>, style: Style) {
        self.shapes.push(Shape {
            kind,
            numbers,
            fill: style.fill.map_or_else(String::new, |role| name(role).into()),
            fill_opacity: style.fill_opacity,
            stroke: style.stroke.map_or_else(String::new, |role| name(role).into()),
            stroke_mm: style.stroke_mm,
            dash: if style.dash == Dash::Solid { Vec::new() } else { style.dash.pattern().to_vec() },
            text: String::new(),
            anchor: String::new(),
        });
    }
}

/// The rectangle around some shapes. A curve lies within its control points; a turned ellipse
/// within the circle of its longer half axis; of a text only its point and height are known.
fn bounds(of: &[Shape]) -> Vec<f64> {
    let mut points: Vec<(f64, f64)> = Vec::new();
    for shape in of {
        match (shape.kind, shape.numbers.as_slice()) {
            (ShapeKind::Line, &[x, y, to_x, to_y]) => points.extend([(x, y), (to_x, to_y)]),
            (ShapeKind::Rect, &[x, y, width, height, _]) => {
                points.extend([(x, y), (x + width, y + height)]);
            }
            (ShapeKind::Ellipse, &[x, y, across, down, _]) => {
                let r = across.max(down);
                points.extend([(x - r, y - r), (x + r, y + r)]);
            }
            (ShapeKind::Text, &[x, y, size]) => points.extend([(x, y), (x, y - size)]),
            (_, numbers) => points.extend(path_points(numbers)),
        }
    }
    let Some(&(x, y)) = points.first() else { return Vec::new() };
    let around = points.iter().fold((x, y, x, y), |(left, top, right, bottom), &(x, y)| {
        (left.min(x), top.min(y), right.max(x), bottom.max(y))
    });
    vec![around.0, around.1, around.2 - around.0, around.3 - around.1]
}

fn path_points(numbers: &[f64]) -> Vec<(f64, f64)> {
    let (mut points, mut rest) = (Vec::new(), numbers);
    while let [step, behind @ ..] = rest {
        let many = if *step < 1.5 {
            2
        } else if *step < 2.5 {
            6
        } else {
            0
        };
        let (own, further) = behind.split_at(many.min(behind.len()));
        points.extend(own.chunks_exact(2).filter_map(|pair| Some((*pair.first()?, *pair.get(1)?))));
        rest = further;
    }
    points
}

fn steps(of: &[Step]) -> Vec<f64> {
    let point = |to: &mut Vec<f64>, point: Point| to.extend([point.x_mm, point.y_mm]);
    let mut numbers = Vec::new();
    for step in of {
        match step {
            Step::Move { to } => {
                numbers.push(0.0);
                point(&mut numbers, *to);
            }
            Step::Line { to } => {
                numbers.push(1.0);
                point(&mut numbers, *to);
            }
            Step::Curve { first, second, to } => {
                numbers.push(2.0);
                for of in [first, second, to] {
                    point(&mut numbers, *of);
                }
            }
            Step::Close => numbers.push(3.0),
        }
    }
    numbers
}

fn name(role: Role) -> &'static str {
    match role {
        Role::Paper => "paper",
        Role::Ink => "ink",
        Role::Muted => "muted",
        Role::Grid => "grid",
        Role::Surface => "surface",
        Role::Flag => "flag",
        Role::AccentA => "accent_a",
        Role::AccentB => "accent_b",
        Role::AccentC => "accent_c",
        Role::AccentD => "accent_d",
        Role::AccentE => "accent_e",
        Role::AccentF => "accent_f",
        Role::CodeDark => "code_dark",
        Role::CodeLight => "code_light",
    }
}
