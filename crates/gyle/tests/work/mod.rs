//! `gyle work`: workers beside a server, one of them killed in the middle.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use batch::certainty::{Question, certainty};
use batch::wire::certainty::Certainty;
use serde_json::{Value, json};

use super::place::Place;

const PALE: &str = include_str!("../../../../examples/lantern-pale.toml");

/// A program that is ended with the test.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn start(place: &Place, args: &[&str]) -> Running {
    let child = Command::new(env!("CARGO_BIN_EXE_gyle"))
        .args(args)
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("../.."))
        .env("GYLEWRIGHT_STORE", place.path("batches.db"))
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn();
    Running(child.unwrap())
}

fn worker(place: &Place) -> Running {
    start(place, &["work", "--threads", "1", "--lease", "2"])
}

/// A server that leaves the work to others, and its address.
fn server(place: &Place) -> (Running, String) {
    let mut server = start(
        place,
        &["serve", "--no-work", "--no-browser", "--port", "0"],
    );
    let mut line = String::new();
    let mut out = BufReader::new(server.0.stdout.take().unwrap());
    out.read_line(&mut line).unwrap();
    let address = line.split("http://").nth(1).unwrap();
    let address = address.split('/').next().unwrap().to_owned();
    (server, address)
}

fn asked(address: &str, method: &str, path: &str, body: &str) -> Value {
    let mut stream = TcpStream::connect(address).unwrap();
    let request = format!(
        "{method} {path} HTTP/1.1\r\nhost: {address}\r\nconnection: close\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\r\n{body}",
        body.len()
    );
    stream.write_all(request.as_bytes()).unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    let (_, body) = answer.split_once("\r\n\r\n").unwrap();
    serde_json::from_str(body).unwrap_or_else(|error| panic!("{error} in {answer}"))
}

fn question(seed: u32) -> Question {
    Question {
        draws: 1024,
        points: 12,
        seed,
    }
}

fn ask(address: &str, seed: u32) -> String {
    let Question { draws, points, .. } = question(seed);
    let asked_for = json!({
        "kind": "certainty", "document": PALE, "draws": draws, "points": points, "seed": seed,
    });
    let job = asked(address, "POST", "/api/jobs", &asked_for.to_string());
    job["id"].as_str().unwrap().to_owned()
}

fn job(address: &str, id: &str) -> Value {
    asked(address, "GET", &format!("/api/jobs/{id}"), "")
}

/// Looks until the job stands so.
fn until(address: &str, id: &str, wanted: impl Fn(&Value) -> bool) -> Value {
    loop {
        let job = job(address, id);
        if wanted(&job) {
            return job;
        }
        assert_ne!(job["state"], "failed", "{job}");
        std::thread::sleep(Duration::from_millis(10));
    }
}

fn taken_up(job: &Value) -> bool {
    job["state"] != "waiting"
}

#[test]
fn the_job_of_a_killed_worker_is_taken_over_and_ends_once() {
    let place = Place::new("takeover");
    let (_server, address) = server(&place);
    let mut workers = [worker(&place), worker(&place)];
    // Where the worker was quicker than the kill, the next job is killed.
    let (seed, id) = (1..)
        .find_map(|seed| {
            let id = ask(&address, seed);
            let job = until(&address, &id, taken_up);
            let by = job["worker"].as_str().unwrap().to_owned();
            let pid = |w: &Running| format!("process {},", w.0.id());
            let at_it = workers.iter().position(|w| by.starts_with(&pid(w)));
            let at_it = &mut workers[at_it.unwrap()];
            at_it.0.kill().unwrap();
            at_it.0.wait().unwrap();
            if self::job(&address, &id)["state"] == "running" {
                return Some((seed, id));
            }
            *at_it = worker(&place);
            None
        })
        .unwrap();
    let done = until(&address, &id, |job| job["state"] == "done");
    assert_eq!(
        (done["attempt"].as_u64(), done["lost"].as_u64()),
        (Some(2), Some(1))
    );
    let direct = certainty(PALE, &question(seed), &|_, _| true).unwrap();
    let direct = serde_json::to_string(&Certainty::from(&direct)).unwrap();
    assert_eq!(
        done["answer"],
        serde_json::from_str::<Value>(&direct).unwrap()
    );
    // The command line sees the same, and asking again joins it.
    let shown = place.fine(&["job", "show", &id, "--json"]);
    assert_eq!(serde_json::from_str::<Value>(&shown).unwrap(), done);
    assert_eq!(ask(&address, seed), id);
    assert!(place.fine(&["job", "list"]).contains(&id));
}

#[test]
fn a_worker_that_is_told_to_stop_gives_its_job_back() {
    let place = Place::new("given-back");
    let (_server, address) = server(&place);
    let mut at_work = worker(&place);
    let id = (1..)
        .find_map(|seed| {
            let id = ask(&address, seed);
            until(&address, &id, taken_up);
            let told = Command::new("kill")
                .arg(at_work.0.id().to_string())
                .status();
            assert!(told.unwrap().success());
            assert!(at_work.0.wait().unwrap().success());
            if job(&address, &id)["state"] == "waiting" {
                return Some(id);
            }
            // It was done before the word came.
            at_work = worker(&place);
            None
        })
        .unwrap();
    let back = job(&address, &id);
    assert_eq!(
        (back["attempt"].as_u64(), back["lost"].as_u64()),
        (Some(1), Some(0))
    );
    assert!(place.fine(&["job", "cancel", &id]).contains("cancelled"));
    let stopped = asked(&address, "POST", &format!("/api/jobs/{id}/cancel"), "");
    assert_eq!(stopped["state"], "cancelled");
    // Nothing waits any more.
    assert_eq!(place.fine(&["work", "--until-empty"]), "0 jobs worked at\n");
}
