//! A control as HTML: forms that work by themselves, and marks for the script that makes
//! taps, drags and sliders of them.

use chalkface_core::chart::escape;
use chalkface_core::screen::{Choosable, Control, DragPoint, FieldKind, ListRow, Look, Picture, PointLook};
use chalkface_core::words::shell;

use super::page::{Sender, drawing};

/// A control.
pub fn control(control: &Control, to: Sender<'_>) -> String {
    let key = control.key();
    let name = escape(control.name());
    match control {
        Control::Action { look, hint, .. } => action(key, &name, *look, hint, to),
        Control::Choice { options, chosen, .. } => {
            let buttons: String = options.iter().map(|of| option(key, of, chosen.as_ref(), to)).collect();
            format!("<fieldset class=\"choice\"><legend>{name}</legend><div>{buttons}</div></fieldset>\n")
        }
        Control::Switch { on, hint, .. } => {
            let fields = [("event", "switch"), ("key", key), ("on", if *on { "false" } else { "true" })];
            let inside = format!(
                "<button role=\"switch\" aria-checked=\"{on}\" data-key=\"{}\"><span class=\"knob\" aria-hidden=\"true\"></span>\
                 <span>{name}{}</span></button>",
                escape(key),
                line(hint)
            );
            to.form("switch", &fields, &inside) + "\n"
        }
        Control::Field { .. } => field(control, to),
        Control::Amount { value, low, high, step, no, says, .. } => {
            let inside = format!(
                "<label><span class=\"name\">{name}</span><output>{}</output><input type=\"range\" name=\"value\" min=\"{low}\" max=\"{high}\" \
                 step=\"{step}\" value=\"{value}\" data-key=\"{}\" data-no=\"{no}\" aria-valuetext=\"{}\"></label>\
                 <button class=\"plain quiet\">Set</button>",
                escape(says),
                escape(key),
                escape(says)
            );
            let next = (no + 1).to_string();
            to.form("amount", &[("event", "slide"), ("key", key), ("no", &next)], &inside) + "\n"
        }
        Control::Touch { scene, says, places, .. } => {
            let zones: String = places.iter().map(|of| option(key, of, None, to)).collect();
            format!(
                "<section class=\"touch\" aria-label=\"{name}\"><div class=\"row\"><h2>{}</h2><details><summary>{}</summary>\
                 <div class=\"choice\"><div>{zones}</div></div></details></div>\
                 <div class=\"pad\" data-touch=\"{}\" data-width=\"{}\" data-height=\"{}\">{}</div></section>\n",
                if says.is_empty() { name.clone() } else { escape(says) },
                shell::ZONES,
                escape(key),
                scene.width_mm,
                scene.height_mm,
                drawing(scene),
            )
        }
        Control::Picture { picture: of, points, chosen, says, .. } => {
            picture(key, &name, of, points, chosen.as_ref(), says)
        }
        Control::Cells { columns, rows, cells, chosen, says, .. } => {
            grid(key, &name, columns, rows, cells, chosen.as_ref(), says, to)
        }
        Control::Counter { count, of, says, .. } => {
            let of = of.map_or_else(String::new, |of| format!(" <span class=\"of\">of {of}</span>"));
            let inside = format!(
                "<button data-key=\"{}\"><span class=\"count\">{count}</span>{of} <span class=\"name\">{name}</span></button>\
                 <p class=\"value\">{}</p>",
                escape(key),
                escape(says)
            );
            to.form("counter", &[("event", "press"), ("key", key)], &inside) + "\n"
        }
        Control::Clock { ends_ms, seconds, .. } => format!(
            "<p class=\"clock\" data-ends=\"{ends_ms}\" data-seconds=\"{seconds}\"><span class=\"name\">{name}</span> <time>{seconds} s</time></p>\n"
        ),
        Control::Rows { total, rows: first, empty, .. } => {
            if *total == 0 {
                return format!(
                    "<section class=\"rows\"><h2>{name}</h2><p>{}</p></section>\n",
                    escape(empty)
                );
            }
            let more = if (first.len() as u64) < *total {
                format!("<button class=\"plain more\" data-more=\"{}\">More of {total}</button>", escape(key))
            } else {
                String::new()
            };
            format!(
                "<section class=\"rows\"><h2>{name} <span class=\"basis\">{total}</span></h2><ul>{}</ul>{more}</section>\n",
                rows_of(key, first, to)
            )
        }
    }
}

/// Further rows of a list. They carry no turn: the screen may have been redrawn meanwhile.
pub fn rows(key: &str, rows: &[ListRow], token: &str) -> String {
    rows_of(key, rows, Sender { token, turn: u64::MAX })
}

fn rows_of(key: &str, rows: &[ListRow], to: Sender<'_>) -> String {
    let piece = |class: &str, text: &str| {
        if text.is_empty() {
            String::new()
        } else {
            format!("<span class=\"{class}\" dir=\"auto\">{}</span>", escape(text))
        }
    };
    let row = |row: &ListRow| {
        let flag = if row.flag.is_empty() {
            String::new()
        } else {
            format!(
                "<span class=\"flag\" dir=\"auto\"><span aria-hidden=\"true\">▲ </span>{}</span>",
                escape(&row.flag)
            )
        };
        let inside = format!(
            "<button data-key=\"{}/{}\"><span class=\"text\">{}{}{flag}</span>{}</button>",
            escape(key),
            escape(&row.key),
            piece("name", &row.name),
            piece("detail", &row.detail),
            piece("figure", &row.figure)
        );
        let form = to.form("", &[("event", "open"), ("key", key), ("row", &row.key)], &inside);
        format!("<li data-row=\"{}\">{form}</li>", escape(&row.key))
    };
    rows.iter().map(row).collect()
}

fn line(hint: &str) -> String {
    if hint.is_empty() { String::new() } else { format!("<small>{}</small>", escape(hint)) }
}

fn action(key: &str, name: &str, look: Look, hint: &str, to: Sender<'_>) -> String {
    let class = match look {
        Look::Main => "main",
        Look::Plain => "plain",
        Look::Way => "way",
        Look::Takes => "takes",
    };
    let inside = format!(
        "<button class=\"{class}\" data-key=\"{}\"><span>{name}{}</span></button>",
        escape(key),
        line(hint)
    );
    to.form("action", &[("event", "press"), ("key", key)], &inside) + "\n"
}

fn option(key: &str, of: &Choosable, chosen: Option<&String>, to: Sender<'_>) -> String {
    let is = chosen == Some(&of.key);
    let inside = format!(
        "<button aria-pressed=\"{is}\" data-key=\"{}/{}\" dir=\"auto\">{}</button>",
        escape(key),
        escape(&of.key),
        escape(&of.name)
    );
    to.form("", &[("event", "choose"), ("key", key), ("option", &of.key)], &inside)
}

/// A picture as a drawing in its own pixels, so that points need no style of their own.
fn picture(
    key: &str,
    name: &str,
    of: &Picture,
    points: &[DragPoint],
    chosen: Option<&String>,
    says: &str,
) -> String {
    let (width, height) = (of.width_px, of.height_px);
    let [x, y, across, down] = of.view_px;
    // The longest side shown stands for 400 units, so that strokes and targets have one size.
    let unit = across.max(down) / 400.0;
    let point = |point: &DragPoint| {
        let (class, shape) = match point.look {
            PointLook::Handle => ("handle", "<rect x=\"-8\" y=\"-8\" width=\"16\" height=\"16\"/>"),
            PointLook::New => ("new", "<circle r=\"13\"/><path d=\"M-6 0H6M0-6V6\"/>"),
            PointLook::Earlier => ("earlier", "<circle r=\"13\"/>"),
        };
        format!(
            "<g class=\"point {class}{}\" role=\"button\" tabindex=\"0\" aria-label=\"{}\" data-key=\"{}/{}\" data-point=\"{}\" \
             data-no=\"{}\" data-x=\"{}\" data-y=\"{}\" transform=\"translate({} {}) scale({unit})\"><circle class=\"target\" r=\"24\"/>{shape}</g>",
            if chosen == Some(&point.key) { " chosen" } else { "" },
            escape(&point.name),
            escape(key),
            escape(&point.key),
            escape(&point.key),
            point.no,
            point.x_px,
            point.y_px,
            point.x_px,
            point.y_px,
        )
    };
    format!(
        "<section class=\"picture\" aria-label=\"{name}\"><h2>{}</h2><div class=\"stage\" data-picture=\"{}\" data-unit=\"{unit}\">\
         <svg viewBox=\"{x} {y} {across} {down}\" role=\"group\" aria-label=\"{name}\"><image href=\"/picture?id={}\" width=\"{width}\" height=\"{height}\"/>{}</svg></div></section>\n",
        escape(says),
        escape(key),
        escape(&of.id),
        points.iter().map(point).collect::<String>(),
    )
}

#[allow(clippy::too_many_arguments, reason = "the fields of one control")]
fn grid(
    key: &str,
    name: &str,
    columns: &[String],
    rows: &[String],
    cells: &[Choosable],
    chosen: Option<&String>,
    says: &str,
    to: Sender<'_>,
) -> String {
    let head: String =
        columns.iter().map(|column| format!("<th scope=\"col\">{}</th>", escape(column))).collect();
    let mut body = String::new();
    for (row, of) in rows.iter().zip(cells.chunks(columns.len().max(1))) {
        let cells: String = of
            .iter()
            .map(|cell| {
                let is = chosen == Some(&cell.key);
                let inside = format!(
                    "<button aria-pressed=\"{is}\" data-key=\"{}/{}\" aria-label=\"{}\"></button>",
                    escape(key),
                    escape(&cell.key),
                    escape(&cell.name)
                );
                format!(
                    "<td>{}</td>",
                    to.form("", &[("event", "choose"), ("key", key), ("option", &cell.key)], &inside)
                )
            })
            .collect();
        body += &format!("<tr><th scope=\"row\">{}</th>{cells}</tr>", escape(row));
    }
    format!(
        "<section class=\"cells\" aria-label=\"{name}\"><h2>{}</h2><table dir=\"ltr\"><thead><tr><td></td>{head}</tr></thead>\
         <tbody>{body}</tbody></table></section>\n",
        if says.is_empty() { name.to_owned() } else { escape(says) }
    )
}

fn field(control: &Control, to: Sender<'_>) -> String {
    let Control::Field { key, name, text, no, kind, unit, hint, problem } = control else {
        return String::new();
    };
    let attributes = format!(
        "name=\"text\" data-key=\"{}\" data-no=\"{no}\" autocomplete=\"off\" dir=\"auto\"{}",
        escape(key),
        if problem.is_some() { " aria-invalid=\"true\"" } else { "" }
    );
    let value = escape(text);
    let input = match kind {
        FieldKind::Lines => format!("<textarea rows=\"4\" {attributes}>\n{value}</textarea>"),
        FieldKind::Number => {
            format!("<input type=\"text\" inputmode=\"decimal\" value=\"{value}\" {attributes}>")
        }
        FieldKind::Search => {
            format!("<input type=\"search\" data-search=\"yes\" value=\"{value}\" {attributes}>")
        }
        FieldKind::Line | FieldKind::Name | FieldKind::Day => {
            format!("<input type=\"text\" value=\"{value}\" {attributes}>")
        }
    };
    let problem = problem
        .as_ref()
        .map_or_else(String::new, |why| format!("<small class=\"wrong\">{}</small>", escape(why)));
    let unit =
        if unit.is_empty() { String::new() } else { format!("<span class=\"unit\">{}</span>", escape(unit)) };
    let inside = format!(
        "<label><span class=\"name\">{}</span><span class=\"line\">{input}{unit}</span>{}{problem}</label>\
         <button class=\"plain quiet\">Keep</button>",
        escape(name),
        line(hint)
    );
    let next = (no + 1).to_string();
    to.form("field", &[("event", "write"), ("key", key), ("no", &next)], &inside) + "\n"
}
