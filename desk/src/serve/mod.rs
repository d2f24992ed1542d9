//! `serve`: the screens in a browser on this machine.
//!
//! The rule that must hold: it answers this machine and this browser alone: loopback
//! only, a secret in the start link, Host and Origin checked, a token in every form, a
//! strict policy, bounded bodies. It holds no logic: it draws what the core shows, and
//! hands on what happens.
//!
//! # Where to start
//! [`run`] for the server, `guard` for who is let in, `page` and `control` for how it is
//! drawn, `form` for what comes back.

mod control;
mod form;
mod guard;
mod page;

use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Sender};
use std::thread;

use chalkface_core::book::Book;
use chalkface_core::screen::{Asked, Event, Loop, Outcome, Told, Work, WorkDone};
use chalkface_core::words;
use serde_json::json;
use tiny_http::{Header, Method, Request, Response, Server};

use crate::clock;
use crate::error::DeskError;
use crate::keys::Keys;
use crate::output::print;
use guard::Guard;

/// Bytes of a form at most.
const MOST_FORM: u64 = 64 * 1024;
/// Bytes of an uploaded file at most.
const MOST_FILE: u64 = 64 * 1024 * 1024;

/// Serves the book at `path` until the program is ended.
///
/// # Errors
/// If the port is taken, or what the system says.
pub fn run(path: &Path, keys: Keys, json: bool, port: u16) -> Result<(), DeskError> {
    let server = Server::http(("127.0.0.1", port)).map_err(|error| DeskError::System(error.to_string()))?;
    let port = server.server_addr().to_ip().map_or(port, |address| address.port());
    let guard = Guard::new(port)?;
    let link = guard.link();
    print(json, &json!({ "link": link }), || {
        format!("Open {link}\nOnly this machine can. End it with Ctrl-C.")
    })?;
    let mut shell = Shell::open(path, keys)?;
    let (jobs, coming) = mpsc::channel();
    let asked = jobs.clone();
    // The loop hears one thing at a time; what takes long is done beside it.
    thread::spawn(move || {
        for request in server.incoming_requests() {
            if asked.send(Job::Asked(request)).is_err() {
                return;
            }
        }
    });
    for job in coming {
        match job {
            Job::Asked(request) => shell.answer(request, &guard, &jobs),
            Job::Found(request, found) => {
                shell.running.finish(found);
                shell.keep();
                send(request, shell.shown(&guard, true));
            }
        }
    }
    Ok(())
}

/// What the shell hears of.
enum Job {
    /// The browser asks something.
    Asked(Request),
    /// What it asked to be worked out is found.
    Found(Request, WorkDone),
}

/// One book in one browser.
struct Shell {
    running: Loop,
    /// Where the person is, beside the book, for the next start.
    state: PathBuf,
    path: PathBuf,
    keys: Keys,
    /// Whether the loop has the keys.
    keyed: bool,
}

/// What goes back.
struct Answer {
    code: u16,
    kind: &'static str,
    body: Vec<u8>,
    more: Vec<(&'static str, String)>,
}

impl Answer {
    fn new(code: u16, kind: &'static str, body: impl Into<Vec<u8>>) -> Self {
        Self { code, kind, body: body.into(), more: Vec::new() }
    }

    fn text(code: u16, text: &str) -> Self {
        Self::new(code, "text/plain; charset=utf-8", text)
    }

    fn with(mut self, name: &'static str, value: impl Into<String>) -> Self {
        self.more.push((name, value.into()));
        self
    }
}

impl Shell {
    fn open(path: &Path, keys: Keys) -> Result<Self, DeskError> {
        let state = path.with_extension("place");
        let kept = std::fs::read(&state).ok();
        let running = Loop::open(path, kept.as_deref(), clock::now()?.at);
        let mut shell = Self { running, state, path: path.to_owned(), keys, keyed: false };
        shell.give_keys()?;
        Ok(shell)
    }

    /// Gives the loop its device's keys, as soon as there is a book; new ones where it has
    /// none. Their twelve words are told where the server was started, once.
    fn give_keys(&mut self) -> Result<(), DeskError> {
        if self.keyed || !self.path.is_file() {
            return Ok(());
        }
        let Ok(mut book) = Book::open(&self.path) else { return Ok(()) };
        if book.identity()?.is_none()
            && let Some(phrase) = self.keys.make(&mut book, None)?
        {
            print(false, &json!({}), || words::people::phrase_use(&phrase))?;
        }
        self.running.give_keys(self.keys.read()?);
        self.keyed = true;
        Ok(())
    }

    fn answer(&mut self, mut request: Request, guard: &Guard, jobs: &Sender<Job>) {
        let answer = match guard.admit(&request) {
            Err(refused) => refused,
            Ok(()) if *request.method() == Method::Post && request.url() == "/work" => {
                match self.work(&mut request, guard) {
                    Ok(work) => {
                        let found = jobs.clone();
                        thread::spawn(move || {
                            // Where the server has ended, nobody waits for it.
                            let _ = found.send(Job::Found(request, work.run()));
                        });
                        return;
                    }
                    Err(answer) => answer,
                }
            }
            Ok(()) => {
                self.route(&mut request, guard).unwrap_or_else(|error| Answer::text(500, &error.to_string()))
            }
        };
        send(request, answer);
    }

    fn route(&mut self, request: &mut Request, guard: &Guard) -> Result<Answer, DeskError> {
        let url = request.url().to_owned();
        let (path, query) = url.split_once('?').unwrap_or((&url, ""));
        match (request.method(), path) {
            (Method::Get, "/style.css") => {
                Ok(Answer::new(200, "text/css; charset=utf-8", include_str!("style.css")))
            }
            (Method::Get, "/script.js") => {
                Ok(Answer::new(200, "text/javascript; charset=utf-8", include_str!("script.js")))
            }
            // Browsers ask for one by themselves; there is none.
            (Method::Get, "/favicon.ico") => Ok(Answer::text(204, "")),
            (Method::Get, "/") => Ok(self.shown(guard, false)),
            (Method::Get, "/rows") => Ok(self.rows(query, guard)),
            (Method::Get, "/picture") => Ok(self.picture(query)),
            (Method::Get, "/file") => Ok(self.file(query)),
            (Method::Post, "/act") => self.act(request, guard),
            (Method::Post, "/upload") => self.upload(request, guard, query),
            (_, path) if guard.is_start(path) => Ok(guard.start()),
            _ => Ok(Answer::text(404, "There is no such page.")),
        }
    }

    /// The screen: the whole page, or its inside for a script that has the rest.
    fn shown(&self, guard: &Guard, inside: bool) -> Answer {
        let screen = self.running.screen();
        let html =
            if inside { page::inside(&screen, guard.token()) } else { page::whole(&screen, guard.token()) };
        Answer::new(200, "text/html; charset=utf-8", html)
    }

    fn rows(&self, query: &str, guard: &Guard) -> Answer {
        let asked = form::Form::read(query.as_bytes());
        let (key, after) = (asked.get("key").unwrap_or_default(), asked.get("after"));
        let rows = self.running.rows(key, after, 50);
        Answer::new(200, "text/html; charset=utf-8", control::rows(key, &rows.rows, guard.token()))
    }

    fn picture(&self, query: &str) -> Answer {
        let asked = form::Form::read(query.as_bytes());
        match self.running.picture(asked.get("id").unwrap_or_default()) {
            Some(jpeg) => Answer::new(200, "image/jpeg", &*jpeg),
            None => Answer::text(404, "There is no such picture."),
        }
    }

    fn file(&mut self, query: &str) -> Answer {
        let asked = form::Form::read(query.as_bytes());
        let id = asked.get("effect").and_then(|id| id.parse().ok()).unwrap_or(0);
        let screen = self.running.screen();
        let name =
            screen.effects.iter().find(|effect| effect.id == id).and_then(|effect| match &effect.what {
                Asked::Share { name, .. } => Some(name.clone()),
                _ => None,
            });
        match (name, self.running.content(id)) {
            (Some(name), Ok(bytes)) => {
                let plain: String = name
                    .chars()
                    .map(|c| if c.is_ascii_alphanumeric() || "-.".contains(c) { c } else { '-' })
                    .collect();
                Answer::new(200, "application/octet-stream", bytes)
                    .with("Content-Disposition", format!("attachment; filename=\"{plain}\""))
            }
            (_, Err(problem)) => Answer::text(404, &problem.0),
            (None, Ok(_)) => Answer::text(404, "There is no such file."),
        }
    }

    fn act(&mut self, request: &mut Request, guard: &Guard) -> Result<Answer, DeskError> {
        let Some(body) = bounded(request, MOST_FORM) else { return Ok(too_large()) };
        let form = form::Form::read(&body);
        if !guard.is_token(form.get("token")) {
            return Ok(guard::stale());
        }
        let Some(event) = form.event() else {
            return Ok(Answer::text(400, "That is nothing that a page sends."));
        };
        let told = Told { seen: form.get("turn").and_then(|turn| turn.parse().ok()), event };
        self.tell(&told)?;
        // What only a phone can do is answered for it here.
        self.buzzed()?;
        if form.get("inside").is_some() {
            return Ok(self.shown(guard, true));
        }
        Ok(Answer::text(303, "").with("Location", "/"))
    }

    /// What the screen waits for, one thing at a time; the screen itself where it waits for
    /// nothing.
    fn work(&self, request: &mut Request, guard: &Guard) -> Result<Work, Answer> {
        let Some(body) = bounded(request, MOST_FORM) else { return Err(too_large()) };
        if !guard.is_token(form::Form::read(&body).get("token")) {
            return Err(guard::stale());
        }
        self.running.work().ok_or_else(|| self.shown(guard, true))
    }

    fn upload(&mut self, request: &mut Request, guard: &Guard, query: &str) -> Result<Answer, DeskError> {
        let asked = form::Form::read(query.as_bytes());
        let token = request.headers().iter().find(|header| header.field.equiv("X-Token"));
        if !guard.is_token(token.map(|header| header.value.as_str())) {
            return Ok(guard::stale());
        }
        let Some(bytes) = bounded(request, MOST_FILE) else { return Ok(too_large()) };
        let effect = asked.get("effect").and_then(|id| id.parse().ok()).unwrap_or(0);
        let name = asked.get("name").unwrap_or_default().to_owned();
        self.tell(&Event::Answer { effect, outcome: Outcome::File { name, bytes } }.into())?;
        Ok(self.shown(guard, true))
    }

    fn tell(&mut self, told: &Told) -> Result<(), DeskError> {
        self.running.act(told, clock::now()?);
        self.give_keys()?;
        self.keep();
        Ok(())
    }

    fn buzzed(&mut self) -> Result<(), DeskError> {
        let screen = self.running.screen();
        for effect in screen.effects.iter().filter(|effect| effect.what == Asked::Buzz) {
            self.tell(&Event::Answer { effect: effect.id, outcome: Outcome::Done }.into())?;
        }
        Ok(())
    }

    /// Keeps where the person is. Without it the next start is at home: no reason to fail.
    fn keep(&self) {
        let _ = std::fs::write(&self.state, self.running.state());
    }
}

fn send(request: Request, answer: Answer) {
    let mut response = Response::from_data(answer.body).with_status_code(answer.code);
    let fixed = guard::HEADERS.iter().map(|(name, value)| (*name, (*value).to_owned()));
    let kind = [("Content-Type", answer.kind.to_owned())];
    for (name, value) in fixed.chain(kind).chain(answer.more) {
        if let Ok(header) = Header::from_bytes(name, value) {
            response.add_header(header);
        }
    }
    // Whoever hung up needs no answer.
    let _ = request.respond(response);
}

fn too_large() -> Answer {
    Answer::text(413, "That is more than this takes: a file of 64 MB at most.")
}

/// The body, if it is no larger than allowed. What claims to be larger isn't read at all.
fn bounded(request: &mut Request, most: u64) -> Option<Vec<u8>> {
    if request.body_length().is_some_and(|length| length as u64 > most) {
        return None;
    }
    let mut body = Vec::new();
    request.as_reader().take(most + 1).read_to_end(&mut body).ok()?;
    (body.len() as u64 <= most).then_some(body)
}
