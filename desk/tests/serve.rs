//! `serve` against who should not be let in, and what should not come in.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};

use chalkface_core::chart::escape;

/// A server on a free port, ended with the test.
struct Served {
    child: Child,
    /// Kept open: the twelve words of a new book are told there.
    _told: BufReader<ChildStdout>,
    port: u16,
    secret: String,
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Served {
    fn start(folder: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_chalkface"))
            .args(["--book", "a.book", "serve"])
            .current_dir(folder)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        let mut told = BufReader::new(child.stdout.take().unwrap());
        told.read_line(&mut line).unwrap();
        let (_, rest) = line.trim().split_once("127.0.0.1:").expect("a link");
        let (port, secret) = rest.split_once("/start/").expect("a secret");
        Self { child, _told: told, port: port.parse().unwrap(), secret: secret.to_owned() }
    }

    fn cookie(&self) -> String {
        format!("Cookie: chalkface-{}={}\r\n", self.port, self.secret)
    }

    /// Status and body of a raw request.
    fn raw(&self, request: &str) -> (u16, String) {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.write_all(request.as_bytes()).unwrap();
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer);
        let text = String::from_utf8_lossy(&answer).into_owned();
        let code = text.split(' ').nth(1).and_then(|code| code.parse().ok()).unwrap_or(0);
        (code, text)
    }

    fn get(&self, path: &str, headers: &str) -> (u16, String) {
        self.raw(&format!(
            "GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\n{headers}\r\n",
            self.port
        ))
    }

    fn post(&self, path: &str, headers: &str, body: &str) -> (u16, String) {
        let (port, length) = (self.port, body.len());
        self.raw(&format!(
            "POST {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n\
             Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {length}\r\n{headers}\r\n{body}"
        ))
    }

    fn token(&self) -> String {
        let (_, page) = self.get("/", &self.cookie());
        page.split_once("data-token=\"").unwrap().1.split('"').next().unwrap().to_owned()
    }
}

#[test]
fn a_page_is_shown_to_who_has_the_secret_and_to_nobody_else() {
    let folder = tempfile::tempdir().unwrap();
    let served = Served::start(folder.path());
    assert_eq!(served.get("/", "").0, 403, "without the secret");
    assert_eq!(
        served.get("/", &format!("Cookie: chalkface-{}=guessed\r\n", served.port)).0,
        403,
        "with a wrong one"
    );
    assert_eq!(served.get("/start/guessed", "").0, 403);
    let (code, start) = served.get(&format!("/start/{}", served.secret), "");
    assert_eq!(code, 303);
    assert!(start.contains("HttpOnly; SameSite=Strict"), "{start}");
    let (code, page) = served.get("/", &served.cookie());
    assert_eq!(code, 200);
    assert!(page.contains("<h1") && page.contains("Content-Security-Policy: default-src 'none'"), "{page}");
    assert!(
        !page.contains("style=\"") && !page.contains("onclick"),
        "the policy allows no inline style or script"
    );
    for asset in ["/style.css", "/script.js"] {
        assert_eq!(served.get(asset, &served.cookie()).0, 200);
        assert_eq!(served.get(asset, "").0, 403);
    }
}

#[test]
fn a_foreign_host_origin_or_site_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let served = Served::start(folder.path());
    let cookie = served.cookie();
    for host in ["evil.example", "127.0.0.1", "127.0.0.1:1", "localhost.evil.example"] {
        let (code, _) =
            served.raw(&format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n{cookie}\r\n"));
        assert_eq!(code, 421, "{host}");
    }
    for origin in ["http://evil.example", "null", "https://127.0.0.1", "http://127.0.0.1:1"] {
        let (code, _) = served.post("/act", &format!("{cookie}Origin: {origin}\r\n"), "event=wake");
        assert_eq!(code, 403, "{origin}");
    }
    assert_eq!(served.get("/", &format!("{cookie}Sec-Fetch-Site: cross-site\r\n")).0, 403);
    assert_eq!(served.post("/act", &cookie, "event=wake").0, 403, "without a token");
    assert_eq!(served.post("/act", &cookie, "event=wake&token=guessed").0, 403);
    assert_eq!(served.post("/work", &cookie, "").0, 403);
    assert_eq!(served.post("/upload?effect=1", &cookie, "x").0, 403);
    let token = served.token();
    assert_eq!(
        served.post("/act", &cookie, &format!("event=wake&token={token}")).0,
        303,
        "and with it it works"
    );
}

#[test]
fn paths_that_try_tricks_find_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let served = Served::start(folder.path());
    std::fs::write(folder.path().join("secret.txt"), "treasure").unwrap();
    for path in [
        "/../secret.txt",
        "/%2e%2e/secret.txt",
        "/secret.txt",
        "//secret.txt",
        "/style.css/../../a.book",
        "/a.book",
        "/file?effect=../a.book",
    ] {
        let (code, body) = served.get(path, &served.cookie());
        assert!((400..500).contains(&code), "{path}: {code}");
        assert!(!body.contains("treasure"));
    }
}

#[test]
fn markup_in_a_text_stays_text() {
    let folder = tempfile::tempdir().unwrap();
    let served = Served::start(folder.path());
    let (cookie, token) = (served.cookie(), served.token());
    let nasty = "\"><script>alert(1)</script><img src=x onerror=alert(1)>'&";
    let encoded: String = nasty.bytes().map(|byte| format!("%{byte:02X}")).collect();
    let act = |fields: &str| served.post("/act", &cookie, &format!("token={token}&inside=yes&{fields}")).1;
    let page = act(&format!("event=write&key=name&no=1&text={encoded}"));
    assert!(page.contains(&escape(nasty)) && !page.contains("<script>alert"), "{page}");
    let page = act("event=press&key=begin");
    assert!(!page.contains("<script>alert") && !page.contains("<img"), "{page}");
    // Of a field that isn't there, nothing comes back at all.
    let page = act(&format!("event=press&key={encoded}"));
    assert!(!page.contains("alert(1)</script>"));
}

#[test]
fn what_claims_to_be_two_gigabytes_is_refused_unread() {
    let folder = tempfile::tempdir().unwrap();
    let served = Served::start(folder.path());
    let (cookie, token) = (served.cookie(), served.token());
    let head = format!(
        "POST /upload?effect=1&name=x HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\n{cookie}X-Token: {token}\r\n\
         Content-Length: 2147483648\r\n\r\nonly this much",
        served.port
    );
    let mut stream = TcpStream::connect(("127.0.0.1", served.port)).unwrap();
    stream.write_all(head.as_bytes()).unwrap();
    let mut first = [0; 64];
    let read = stream.read(&mut first).unwrap();
    drop(stream);
    assert!(String::from_utf8_lossy(&first[..read]).contains("413"), "{:?}", &first[..read]);
    // The server lives on.
    assert_eq!(served.get("/", &cookie).0, 200);
    let long = "x".repeat(70_000);
    assert_eq!(
        served.post("/act", &cookie, &format!("token={token}&event=write&key=name&text={long}")).0,
        413
    );
}
