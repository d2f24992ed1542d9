//! Flights from the side and from above.
//!
//! Two views one under the other over the same distances: heights above, start
//! line and curve below, and under them each flight in a sentence. One flight
//! alone has its figures beside it as well.
//!
//! Invariant: lengths are to one scale in both views; where heights or sideways
//! distances are drawn larger than lengths, it is by a whole factor that the view
//! says; flights differ in shape and line pattern, not only in colour.
//!
//! Where to start: [`flight_paths`]; `flight_frame.rs` has the two views.

use super::face_looks::line_entry;
use super::flight_frame::{Frame, curve_line, start_line};
use super::landing_frame::target_line;
use super::layout::{Entry, caption, drop_mm, label, legend, sign, title};
use super::length::Length;
use super::measure::{fit, wrap};
use super::scene::{Anchor, Dash, Item, Point, Role, Scene, Shape, Style, Weight, at};
use super::{ChartError, LABEL_MM, LEADING_MM, MARGIN_MM, check_width, within};
use crate::words::flight_chart as words;

/// One point of a path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PathSpot {
    /// Down the target line, m.
    pub down_m: f64,
    /// Height, m.
    pub height_m: f64,
    /// Right of the target line, m.
    pub right_m: f64,
}

/// One flight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlownPath<'a> {
    /// What the chart calls it.
    pub label: &'a str,
    /// Its path from the start to the landing.
    pub path: &'a [PathSpot],
    /// Direction of the first path, deg right of the target line.
    pub start_deg: f64,
    /// Angle below the horizon at the landing, deg.
    pub landing_deg: f64,
}

/// What a chart of flights shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlightPaths<'a> {
    /// Title.
    pub title: &'a str,
    /// Unit of the labels.
    pub unit: Length,
    /// Up to six flights.
    pub flights: &'a [FlownPath<'a>],
    /// One or two sentences under the chart; may be empty.
    pub caption: &'a str,
    /// Width of the scene, mm.
    pub width_mm: f64,
}

/// Most flights that can be told apart.
const MOST: usize = 6;

/// Shape, colour and line pattern of each flight.
const LOOKS: [(Shape, Role, Dash); MOST] = [
    (Shape::Disc, Role::AccentA, Dash::Solid),
    (Shape::Triangle, Role::AccentB, Dash::Dashed),
    (Shape::Square, Role::AccentC, Dash::Dotted),
    (Shape::Wedge, Role::AccentD, Dash::Solid),
    (Shape::Diamond, Role::AccentE, Dash::Dashed),
    (Shape::Plus, Role::AccentF, Dash::Dotted),
];

/// A flight with its figures and its look.
pub(super) struct Seen<'a> {
    pub flight: FlownPath<'a>,
    pub shape: Shape,
    pub role: Role,
    pub dash: Dash,
    pub apex: PathSpot,
    pub landing: PathSpot,
    /// Where the start line is at the landing's distance, m right.
    pub straight_m: f64,
}

impl Seen<'_> {
    /// Landing right of the start line, m.
    pub fn curve_m(&self) -> f64 {
        self.landing.right_m - self.straight_m
    }

    pub fn line(&self) -> Style {
        Style::line(self.role, if self.dash == Dash::Dotted { 0.75 } else { 0.6 }).dashed(self.dash)
    }

    fn sentence(&self, unit: Length) -> String {
        words::flight(
            &unit.text(self.landing.down_m),
            &unit.text(self.apex.height_m),
            self.flight.landing_deg,
            self.flight.start_deg,
            &words::aside(&unit.text(self.curve_m().abs()), self.curve_m()),
        )
    }
}

/// Draws flights from the side and from above.
///
/// # Errors
/// [`ChartError`] for more than six flights, a flight without a path, a width out
/// of range or a number that is none.
pub fn flight_paths(chart: &FlightPaths<'_>) -> Result<Scene, ChartError> {
    check(chart)?;
    let seen = seen(chart);
    let view = words::paths_view(chart.unit.name());
    let mut items = Vec::new();
    let top = title(&mut items, chart.title, &view, chart.width_mm);
    let frame = Frame::new(chart, &seen, &mut items, top);
    items.push(frame.side_grid(chart.unit));
    items.push(frame.above_grid(chart.unit));
    for (index, flight) in seen.iter().enumerate().rev() {
        let alt = format!("{}: {}", flight.flight.label, flight.sentence(chart.unit));
        items.push(Item::group(format!("flight-{index}"), alt, frame.flight(flight)));
    }
    match seen.as_slice() {
        [] => items.push(sign(frame.side_middle(), words::NO_FLIGHTS, Anchor::Middle)),
        [one] => items.push(frame.figures(one, chart.unit)),
        _ => {}
    }
    let mut y = legend(&mut items, &entries(&seen), frame.bottom_mm + 2.5, chart.width_mm);
    y = list(&mut items, &seen, chart, y + 0.6);
    y = caption(&mut items, chart.caption, y, chart.width_mm);
    let mut alt = vec![words::paths_alt(&view, seen.len()), frame.scales()];
    if !chart.caption.is_empty() {
        alt.push(chart.caption.to_owned());
    }
    Ok(Scene {
        title: chart.title.to_owned(),
        alt: alt.join(" "),
        width_mm: chart.width_mm,
        height_mm: y + MARGIN_MM,
        items,
    })
}

fn check(chart: &FlightPaths<'_>) -> Result<(), ChartError> {
    const FAR: &str = "from -1000 to 1000 m, further than any ball flies";
    check_width(chart.width_mm)?;
    let some = "from 0 to 6, as many as can be told apart";
    within("number of flights", chart.flights.len() as f64, 0.0, MOST as f64, some)?;
    for flight in chart.flights {
        let some = "1 or more, so that there is something to draw";
        within("number of path points", flight.path.len() as f64, 1.0, 1e6, some)?;
        for spot in flight.path {
            within("down_m", spot.down_m, -1000.0, 1000.0, FAR)?;
            within("height_m", spot.height_m, -1000.0, 1000.0, FAR)?;
            within("right_m", spot.right_m, -1000.0, 1000.0, FAR)?;
        }
        within("start_deg", flight.start_deg, -85.0, 85.0, "from -85 to 85, down the range")?;
        within("landing_deg", flight.landing_deg, -90.0, 90.0, "an angle to the horizon")?;
    }
    Ok(())
}

fn seen<'a>(chart: &FlightPaths<'a>) -> Vec<Seen<'a>> {
    let highest = |path: &[PathSpot]| path.iter().copied().max_by(|a, b| a.height_m.total_cmp(&b.height_m));
    chart
        .flights
        .iter()
        .zip(LOOKS)
        .filter_map(|(flight, (shape, role, dash))| {
            let (apex, landing) = (highest(flight.path)?, *flight.path.last()?);
            let straight_m = landing.down_m * libm::tan(flight.start_deg.to_radians());
            Some(Seen { flight: *flight, shape, role, dash, apex, landing, straight_m })
        })
        .collect()
}

fn entries(seen: &[Seen<'_>]) -> Vec<Entry> {
    let mut found = vec![line_entry(words::TARGET_LINE, "", target_line())];
    if seen.is_empty() {
        return found;
    }
    let role = if seen.len() == 1 { Role::AccentA } else { Role::Ink };
    let shape = Shape::Disc;
    let mut mark = |text: &str, style: Style| {
        let sign = move |at| vec![Item::Marker { at, shape, size_mm: 2.6, style }];
        found.push(Entry { text: text.to_owned(), tail: String::new(), sign: Box::new(sign) });
    };
    mark(words::APEX, super::flight_frame::apex_paint(role));
    mark(words::LANDING, super::flight_frame::landing_paint(role));
    found.push(line_entry(words::START_LINE, "", start_line(role)));
    let bracket = move |p: Point| {
        let upright = |x: f64| Item::line(at(x, p.y_mm - 1.1), at(x, p.y_mm + 1.1), curve_line(role));
        let (left, right) = (p.x_mm - 3.6, p.x_mm + 3.6);
        vec![Item::line(at(left, p.y_mm), at(right, p.y_mm), curve_line(role)), upright(left), upright(right)]
    };
    found.push(Entry { text: words::CURVE.to_owned(), tail: String::new(), sign: Box::new(bracket) });
    found
}

/// Each flight by name and in a sentence; answers the y below.
fn list(items: &mut Vec<Item>, seen: &[Seen<'_>], chart: &FlightPaths<'_>, top: f64) -> f64 {
    const INDENT_MM: f64 = 9.8;
    let room = chart.width_mm - 2.0 * MARGIN_MM - INDENT_MM;
    let mut inside = Vec::new();
    let mut y = top;
    for flight in seen {
        y += LEADING_MM;
        let middle = at(MARGIN_MM + 4.0, y - drop_mm());
        let ends = [middle.x_mm - 4.0, middle.x_mm + 4.0].map(|x| at(x, middle.y_mm));
        inside.push(Item::line(ends[0], ends[1], flight.line()));
        let style = super::flight_frame::landing_paint(flight.role);
        inside.push(Item::Marker { at: middle, shape: flight.shape, size_mm: 2.6, style });
        let name = fit(flight.flight.label, LABEL_MM, Weight::Bold, room);
        inside.push(sign(at(MARGIN_MM + INDENT_MM, y), name, Anchor::Start));
        for line in wrap(&flight.sentence(chart.unit), LABEL_MM, Weight::Regular, room, 5) {
            y += LEADING_MM;
            inside.push(label(at(MARGIN_MM + INDENT_MM, y), line, Anchor::Start, Role::Ink));
        }
        y += 1.0;
    }
    if seen.is_empty() {
        return top;
    }
    items.push(Item::group("list", "", inside));
    y + 0.6
}
