//! A screen as HTML: what stands around the parts, and the parts in their columns.
//!
//! Every text goes through [`escape`]; nothing here is trusted.

use chalkface_core::chart::{Scene, Theme, escape, scene::Role, to_svg};
use chalkface_core::screen::{Asked, Block, Column, Effect, Notice, Part, Screen, Tone, What};
use chalkface_core::words::shell;

use super::control;
use crate::render::html;

/// The whole page.
pub fn whole(screen: &Screen, token: &str) -> String {
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{}</title>\n<link rel=\"stylesheet\" href=\"/style.css\">\n<script src=\"/script.js\" defer></script>\n\
         </head>\n<body>\n<div id=\"app\">\n{}</div>\n\
         <div id=\"says\" role=\"status\" aria-live=\"polite\"></div>\n</body>\n</html>\n",
        escape(&screen.title),
        inside(screen, token)
    )
}

/// What changes from screen to screen.
pub fn inside(screen: &Screen, token: &str) -> String {
    let mut out = format!(
        "<div class=\"screen\" data-place=\"{}\" data-turn=\"{}\" data-token=\"{token}\" data-title=\"{}\" data-says=\"{}\"{}>\n",
        screen.place,
        screen.turn,
        escape(&screen.title),
        escape(&screen.says),
        if screen.busy.is_some() { " data-busy=\"yes\"" } else { "" },
    );
    let to = Sender { token, turn: screen.turn };
    out += &header(screen, to);
    for notice in &screen.notices {
        out += &told(notice, to);
    }
    if let Some(busy) = &screen.busy {
        out += &format!(
            "<p class=\"busy\"><span class=\"turning\" aria-hidden=\"true\"></span>{}</p>\n",
            escape(&busy.text)
        );
    }
    for effect in &screen.effects {
        out += &asked(effect, to);
    }
    out += "<main class=\"columns\">\n";
    for (column, class) in [(Column::Main, "main"), (Column::Beside, "beside")] {
        let parts: Vec<&Part> = screen.parts.iter().filter(|part| part.column == column).collect();
        if !parts.is_empty() {
            out += &format!("<div class=\"{class}\">\n");
            for part in parts {
                out += &self::part(part, to);
            }
            out += "</div>\n";
        }
    }
    out += "</main>\n";
    out += &tabs(screen, to);
    out + "</div>\n"
}

/// What a form needs to be ours.
#[derive(Clone, Copy)]
pub struct Sender<'a> {
    /// The token of this start.
    pub token: &'a str,
    /// The turn of the screen.
    pub turn: u64,
}

impl Sender<'_> {
    /// A form that sends one event, with what is inside it.
    pub fn form(self, class: &str, fields: &[(&str, &str)], inside: &str) -> String {
        let hidden: String = fields
            .iter()
            .map(|(name, value)| {
                format!("<input type=\"hidden\" name=\"{name}\" value=\"{}\">", escape(value))
            })
            .collect();
        format!(
            "<form method=\"post\" action=\"/act\" class=\"{class}\"><input type=\"hidden\" name=\"token\" value=\"{}\">\
             <input type=\"hidden\" name=\"turn\" value=\"{}\">{hidden}{inside}</form>",
            self.token, self.turn
        )
    }
}

fn header(screen: &Screen, to: Sender<'_>) -> String {
    let back = screen.back.as_ref().map_or_else(String::new, |back| {
        let button = format!("<button class=\"back\" data-key=\"back\" aria-label=\"{}\"><span aria-hidden=\"true\">‹</span></button>", escape(back));
        to.form("", &[("event", "back")], &button)
    });
    let undo = screen.undo.as_ref().map_or_else(String::new, |undo| {
        to.form("undo", &[("event", "undo")], &format!("<button data-key=\"undo\">{}</button>", escape(undo)))
    });
    let subtitle = if screen.subtitle.is_empty() {
        String::new()
    } else {
        format!("<p dir=\"auto\">{}</p>", escape(&screen.subtitle))
    };
    format!(
        "<header>{back}<div class=\"title\"><h1 dir=\"auto\">{}</h1>{subtitle}</div>{undo}</header>\n",
        escape(&screen.title)
    )
}

fn told(notice: &Notice, to: Sender<'_>) -> String {
    let (class, sign) = match notice.tone {
        Tone::Done => ("done", "✓"),
        Tone::Problem => ("problem", "!"),
    };
    let id = notice.id.to_string();
    let button = format!(
        "<button class=\"away\" aria-label=\"{}\"><span aria-hidden=\"true\">×</span></button>",
        shell::AWAY
    );
    let away = to.form("", &[("event", "dismiss"), ("notice", &id)], &button);
    format!(
        "<div class=\"notice {class}\"><span class=\"sign\" aria-hidden=\"true\">{sign}</span><p dir=\"auto\">{}</p>{away}</div>\n",
        escape(&notice.text)
    )
}

/// Copies the text of a file: the script does it, then this says that it was handed over.
fn copies(id: &str, to: Sender<'_>) -> String {
    let fields = [("event", "answer"), ("effect", id), ("outcome", "done")];
    let button =
        format!("<button class=\"plain\" data-copies=\"/file?effect={id}\">{}</button>", shell::COPY_TEXT);
    to.form("", &fields, &button)
}

/// What is asked of the shell, as something to press.
fn asked(effect: &Effect, to: Sender<'_>) -> String {
    let id = effect.id.to_string();
    let done = |outcome: &str, name: &str| {
        let fields = [("event", "answer"), ("effect", id.as_str()), ("outcome", outcome)];
        to.form("", &fields, &format!("<button class=\"plain\">{name}</button>"))
    };
    match &effect.what {
        Asked::Share { name, text } => format!(
            "<div class=\"asked\"><p>{}</p><a class=\"main button\" href=\"/file?effect={id}\" download=\"{}\">Save the file</a>{}{}{}</div>\n",
            escape(name),
            escape(name),
            if *text { copies(&id, to) } else { String::new() },
            done("done", shell::HANDED_OVER),
            done("given_up", shell::NOT_NOW),
        ),
        Asked::PickFile { endings } => {
            let accept: Vec<String> = endings.iter().map(|ending| format!(".{ending}")).collect();
            format!(
                "<div class=\"asked\"><label class=\"main button\">{}<input type=\"file\" data-upload=\"{id}\" accept=\"{}\"></label>{}</div>\n",
                shell::CHOOSE_FILE,
                escape(&accept.join(",")),
                done("given_up", shell::NOT_NOW),
            )
        }
        Asked::TakePicture => format!(
            "<div class=\"asked\"><label class=\"main button\">{}<input type=\"file\" data-upload=\"{id}\" accept=\"image/jpeg,image/png\" capture=\"environment\"></label>{}</div>\n",
            shell::TAKE_PICTURE,
            done("given_up", shell::NOT_NOW),
        ),
        Asked::Buzz => String::new(),
    }
}

fn part(part: &Part, to: Sender<'_>) -> String {
    match &part.what {
        What::Read(Block::Chart { scene, .. }) => format!("<figure>{}</figure>\n", drawing(scene)),
        What::Read(block) => format!("<div class=\"block\" dir=\"auto\">{}</div>\n", html::draw(block)),
        What::Do(of) => control::control(of, to),
    }
}

/// A drawing whose colours are the page's: light, dark and full sun with one picture.
pub fn drawing(scene: &Scene) -> String {
    const ROLES: [(Role, &str); 12] = [
        (Role::Paper, "var(--paper)"),
        (Role::Ink, "var(--ink)"),
        (Role::Muted, "var(--muted)"),
        (Role::Grid, "var(--grid)"),
        (Role::Surface, "var(--surface)"),
        (Role::Flag, "var(--flag)"),
        (Role::AccentA, "var(--a)"),
        (Role::AccentB, "var(--b)"),
        (Role::AccentC, "var(--c)"),
        (Role::AccentD, "var(--d)"),
        (Role::AccentE, "var(--e)"),
        (Role::AccentF, "var(--f)"),
    ];
    let mut svg = to_svg(scene, Theme::Light);
    for (role, name) in ROLES {
        svg = svg.replace(&format!("\"{}\"", Theme::Light.colour(role).hex()), &format!("\"{name}\""));
    }
    svg
}

fn tabs(screen: &Screen, to: Sender<'_>) -> String {
    if screen.tabs.is_empty() {
        return String::new();
    }
    let tab = |tab: &chalkface_core::screen::Tab| {
        let here = if tab.here { " aria-current=\"page\"" } else { "" };
        let button = format!("<button data-key=\"tab.{}\"{here}>{}</button>", tab.key, escape(&tab.name));
        to.form("", &[("event", "go"), ("tab", tab.key)], &button)
    };
    let tabs: String = screen.tabs.iter().map(tab).collect();
    format!("<nav aria-label=\"{}\">{tabs}</nav>\n", shell::PLACES)
}
