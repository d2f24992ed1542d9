//! An object store used as a folder, spoken to over HTTP as the S3 interface has it.
//!
//! The stand-in knows what `watch` needs and no more: list (version 2), get with a
//! range and a mark, put. Requests without a signature in our name are refused. The
//! same is done with a store by others in `tests/long`.

use std::collections::BTreeMap;
use std::process::Output;
use std::sync::{Arc, Mutex};

use tiny_http::{Header, Method, Request, Response, Server};

use crate::bench::{Bench, LOG};

type Objects = Arc<Mutex<BTreeMap<String, Vec<u8>>>>;

/// A store with one bucket, until the test ends.
struct StandIn {
    endpoint: String,
    objects: Objects,
    server: Arc<Server>,
}

impl StandIn {
    fn new() -> Self {
        let server = Arc::new(Server::http("127.0.0.1:0").unwrap());
        let endpoint = format!("http://{}", server.server_addr());
        let objects = Objects::default();
        let (listening, held) = (Arc::clone(&server), Arc::clone(&objects));
        std::thread::spawn(move || {
            for request in listening.incoming_requests() {
                answer(request, &held);
            }
        });
        Self { endpoint, objects, server }
    }

    fn watch(&self, bench: &Bench, book: &str, folder: &str) -> Output {
        bench
            .command(&["watch", &format!("s3://{folder}"), "--once", "--json", "--book", book])
            .env("AWS_ACCESS_KEY_ID", "invented")
            .env("AWS_SECRET_ACCESS_KEY", "invented too")
            .env("AWS_REGION", "nowhere-1")
            .env("AWS_ENDPOINT_URL", &self.endpoint)
            .env("AWS_ALLOW_HTTP", "true")
            .output()
            .unwrap()
    }

    fn look(&self, bench: &Bench, book: &str) -> serde_json::Value {
        let out = self.watch(bench, book, "club/golf");
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        serde_json::from_slice(&out.stdout).unwrap()
    }
}

impl Drop for StandIn {
    fn drop(&mut self) {
        self.server.unblock();
    }
}

fn mark(bytes: &[u8]) -> String {
    let sum = bytes.iter().fold(17_u64, |sum, byte| sum.wrapping_mul(31).wrapping_add(u64::from(*byte)));
    format!("\"{sum:x}\"")
}

fn header(request: &Request, name: &'static str) -> Option<String> {
    request.headers().iter().find(|header| header.field.equiv(name)).map(|header| header.value.to_string())
}

fn answer(mut request: Request, objects: &Objects) {
    let signed = header(&request, "Authorization").unwrap_or_default();
    let (status, fields, body) = if signed.starts_with("AWS4-HMAC-SHA256 Credential=invented/") {
        let mut sent = Vec::new();
        request.as_reader().read_to_end(&mut sent).unwrap();
        reply(&request, sent, &mut objects.lock().unwrap())
    } else {
        (403, Vec::new(), b"<Error><Code>AccessDenied</Code></Error>".to_vec())
    };
    let mut response = Response::from_data(body).with_status_code(status);
    for (name, value) in fields {
        response.add_header(Header::from_bytes(name, value).unwrap());
    }
    let _ = request.respond(response);
}

type Reply = (u16, Vec<(&'static str, String)>, Vec<u8>);

fn reply(request: &Request, sent: Vec<u8>, objects: &mut BTreeMap<String, Vec<u8>>) -> Reply {
    const MADE: &str = "Mon, 04 May 2026 16:00:00 GMT";
    let url = request.url().to_owned();
    let (path, query) = url.split_once('?').unwrap_or((&url, ""));
    let Some(key) = path.strip_prefix("/club") else {
        return (404, Vec::new(), b"<Error><Code>NoSuchBucket</Code></Error>".to_vec());
    };
    let key = key.trim_start_matches('/').to_owned();
    match request.method() {
        Method::Put => {
            let tag = mark(&sent);
            objects.insert(key, sent);
            (200, vec![("ETag", tag)], Vec::new())
        }
        Method::Get if query.contains("list-type=2") => {
            let of: String = objects
                .iter()
                .filter(|(key, _)| key.starts_with("golf/"))
                .map(|(key, bytes)| {
                    format!(
                        "<Contents><Key>{key}</Key><Size>{}</Size><ETag>{}</ETag>\
                         <LastModified>2026-05-04T16:00:00.000Z</LastModified></Contents>",
                        bytes.len(),
                        mark(bytes).replace('"', "&quot;")
                    )
                })
                .collect();
            let list = format!("<ListBucketResult><IsTruncated>false</IsTruncated>{of}</ListBucketResult>");
            (200, Vec::new(), list.into_bytes())
        }
        Method::Get => {
            let Some(bytes) = objects.get(&key) else {
                return (404, Vec::new(), b"<Error><Code>NoSuchKey</Code></Error>".to_vec());
            };
            if header(request, "If-Match").is_some_and(|asked| asked != mark(bytes)) {
                return (412, Vec::new(), Vec::new());
            }
            let range = header(request, "Range").unwrap();
            let (from, to) = range.trim_start_matches("bytes=").split_once('-').unwrap();
            let from: usize = from.parse().unwrap();
            let end = (to.parse::<usize>().unwrap() + 1).min(bytes.len());
            let fields = vec![
                ("ETag", mark(bytes)),
                ("Last-Modified", MADE.to_owned()),
                ("Content-Range", format!("bytes {from}-{}/{}", end - 1, bytes.len())),
            ];
            (206, fields, bytes[from..end].to_vec())
        }
        other => panic!("nobody should ask for {other} {url}"),
    }
}

#[test]
fn a_store_carries_news_both_ways_and_each_file_has_one_writer() {
    let (bench, store) = (Bench::new(), StandIn::new());
    bench.pair();
    bench.write("log.csv", LOG);
    bench.ok(&["record", "shots", "log.csv", "--book", "ina.book"]);
    assert_eq!(store.look(&bench, "ina.book")["wrote"].as_array().unwrap().len(), 1);
    let theirs = store.look(&bench, "bo.book");
    assert_eq!(theirs["taken_in"][0]["taken"], 7);
    assert!(theirs["taken_in"][0]["file"].as_str().unwrap().starts_with("s3://club/golf/"));
    let ours = store.look(&bench, "ina.book");
    assert_eq!((&ours["taken_in"][0]["from"], &ours["refused"]), (&"Bo Berg".into(), &serde_json::json!([])));
    let digest = |book| bench.json(&["book", "check", "--book", book])["strands"][0]["digest"].clone();
    assert_eq!(digest("ina.book"), digest("bo.book"));
    // Two files, one of each device, and a name says nothing of people.
    let names: Vec<String> = store.objects.lock().unwrap().keys().cloned().collect();
    assert_eq!(names.len(), 2, "{names:?}");
    assert!(names.iter().all(|name| name.starts_with("golf/") && !name.to_lowercase().contains("ina")));
}

#[test]
fn what_lies_there_damaged_is_told_and_a_store_that_says_no_changes_nothing() {
    let (bench, store) = (Bench::new(), StandIn::new());
    bench.pair();
    bench.write("log.csv", LOG);
    bench.ok(&["record", "shots", "log.csv", "--book", "ina.book"]);
    store.look(&bench, "ina.book");
    for bytes in store.objects.lock().unwrap().values_mut() {
        bytes[300] ^= 1;
    }
    let before = bench.json(&["book", "check", "--book", "bo.book"]);
    let turn = store.look(&bench, "bo.book");
    assert_eq!((turn["refused"].as_array().unwrap().len(), &turn["taken_in"]), (1, &serde_json::json!([])));
    assert_eq!(bench.json(&["book", "check", "--book", "bo.book"]), before);
    // No such bucket: exit code 1, and what to look at.
    let out = store.watch(&bench, "bo.book", "elsewhere/golf");
    let said = String::from_utf8(out.stderr).unwrap();
    assert_eq!(out.status.code(), Some(1), "{said}");
    assert!(said.contains("s3://elsewhere/golf") && said.contains("AWS_"), "{said}");
}
