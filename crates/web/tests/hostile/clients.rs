//! The doors over real connections: what a client says slowly or not at all, what it says
//! raw, and what is behind each door.

use std::net::{Ipv4Addr, SocketAddr};
use std::time::{Duration, Instant};

use app::App;
use tempfile::TempDir;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use web::{Hosts, Server};

use crate::doors::{assert_safe_lines, routes_of};
use crate::house::House;

struct Open {
    main: SocketAddr,
    phones: SocketAddr,
    sensors: SocketAddr,
    _folder: TempDir,
}

async fn open() -> Open {
    let folder = tempfile::tempdir().unwrap();
    let app = App::open(folder.path().join("store.db").as_path())
        .await
        .unwrap();
    let free = SocketAddr::from((Ipv4Addr::LOCALHOST, 0));
    let (main, phones, sensors) = (
        Server::bind(free).await.unwrap(),
        Server::bind(free).await.unwrap(),
        Server::bind(free).await.unwrap(),
    );
    let opened = Open {
        main: main.address(),
        phones: phones.address(),
        sensors: sensors.address(),
        _folder: folder,
    };
    tokio::spawn(sensors.serve_readings(app.clone()));
    tokio::spawn(main.serve_with_phones(phones, app, Hosts::new(&[]), std::future::pending()));
    opened
}

/// Sends bytes, and gives what came until the server closed the connection.
async fn said(to: SocketAddr, bytes: &[u8], within: Duration) -> String {
    let mut stream = TcpStream::connect(to).await.unwrap();
    stream.write_all(bytes).await.unwrap();
    let mut answer = Vec::new();
    let ended = tokio::time::timeout(within, stream.read_to_end(&mut answer)).await;
    assert!(
        ended.is_ok(),
        "held open for {within:?}: {:?}",
        String::from_utf8_lossy(bytes)
    );
    String::from_utf8_lossy(&answer).into_owned()
}

fn status(answer: &str) -> u16 {
    let word = answer.split(' ').nth(1);
    word.and_then(|w| w.parse().ok()).unwrap_or(0)
}

async fn ask(to: SocketAddr, head: &str) -> String {
    let text = format!("{head}\r\nconnection: close\r\n\r\n");
    said(to, text.as_bytes(), Duration::from_secs(20)).await
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_not_said_to_its_end_is_let_go() {
    let open = open().await;
    let begun = Instant::now();
    let mut waiting = Vec::new();
    let within = Duration::from_secs(50);
    // Nothing, half a head, and a head that grows line by line, on every door.
    for door in [open.main, open.phones, open.sensors] {
        for half in ["", "GE", "GET / HTTP/1.1\r\nhost: 127.0.0.1\r\nx: "] {
            waiting.push(tokio::spawn(async move {
                said(door, half.as_bytes(), within).await
            }));
        }
    }
    let silent = waiting.len();
    // Half a body, on every route that may take one.
    let house = House::new().await;
    for path in routes_of(&house.router) {
        let path = path.replace("{id}", &house.batch).replace(['{', '}'], "");
        for kind in [
            "application/x-www-form-urlencoded",
            "application/json",
            "application/toml",
            "multipart/form-data; boundary=a",
        ] {
            let head = format!(
                "POST {path} HTTP/1.1\r\nhost: 127.0.0.1\r\ncontent-type: {kind}\r\ncontent-length: 100\r\nconnection: close\r\n\r\na=1"
            );
            let main = open.main;
            waiting.push(tokio::spawn(async move {
                said(main, head.as_bytes(), within).await
            }));
        }
    }
    assert!(waiting.len() > 300, "{}", waiting.len());
    for (n, waited) in waiting.into_iter().enumerate() {
        let answer = waited.await.unwrap();
        if n < silent {
            assert!(answer.is_empty() || status(&answer) == 408, "{answer}");
        } else {
            // What takes no body does its work without waiting for one.
            let fine = (400..500).contains(&status(&answer)) || status(&answer) == 303;
            assert!(fine, "{answer}");
        }
    }
    assert!(
        begun.elapsed() > Duration::from_secs(5),
        "somebody waited for the rest"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn each_door_leads_to_its_own_and_nowhere_else() {
    let open = open().await;
    let own = |door: SocketAddr| format!("host: {door}");
    for path in [
        "/",
        "/batch/1",
        "/api/batches",
        "/devices",
        "/everything.tar",
        "/tasting/1",
    ] {
        for door in [open.phones, open.sensors] {
            let answer = ask(door, &format!("GET {path} HTTP/1.1\r\n{}", own(door))).await;
            assert_eq!(status(&answer), 404, "{door} {path}: {answer}");
            assert_safe_lines(&answer);
        }
    }
    let answer = ask(open.phones, "GET /glass HTTP/1.1\r\nhost: rebound.example").await;
    assert_eq!(status(&answer), 421, "{answer}");
    let crossed = format!(
        "POST /glass HTTP/1.1\r\n{}\r\norigin: http://other.example\r\ncontent-length: 0",
        own(open.phones)
    );
    assert_eq!(status(&ask(open.phones, &crossed).await), 403);
    let no_seat = format!(
        "GET /glass HTTP/1.1\r\n{}\r\ncookie: seat=0; seat=' or 1=1",
        own(open.phones)
    );
    assert_eq!(status(&ask(open.phones, &no_seat).await), 404);
    for token in [
        "",
        "authorization: Bearer",
        "authorization: Bearer  ",
        "authorization: Basic YTph",
        "authorization: Bearer \u{ff}",
    ] {
        let head = format!(
            "POST /api/readings HTTP/1.1\r\n{}\r\ncontent-type: application/json\r\ncontent-length: 0\r\n{token}",
            own(open.sensors)
        );
        let head = head.trim_end();
        let answer = ask(open.sensors, head).await;
        assert_eq!(status(&answer), 401, "{token:?}: {answer}");
        assert_safe_lines(&answer);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_request_that_is_none_is_refused() {
    let open = open().await;
    let long = "a".repeat(600_000);
    let many: String = (0..2_000).map(|n| format!("h{n}: 1\r\n")).collect();
    let requests = [
        "\0\0\0\0\r\n\r\n".to_owned(),
        "GET\r\n\r\n".to_owned(),
        "GET / HTTP/9.9\r\nhost: 127.0.0.1\r\n\r\n".to_owned(),
        format!("GET /{long} HTTP/1.1\r\nhost: 127.0.0.1\r\nconnection: close\r\n\r\n"),
        format!("GET / HTTP/1.1\r\nhost: 127.0.0.1\r\nx: {long}\r\nconnection: close\r\n\r\n"),
        format!("GET / HTTP/1.1\r\nhost: 127.0.0.1\r\n{many}connection: close\r\n\r\n"),
        "GET / HTTP/1.1\r\nhost: 127.0.0.1\r\nx\0y: 1\r\n\r\n".to_owned(),
        // Two lengths, and a length beside chunks: another server might read them otherwise.
        "POST /units HTTP/1.1\r\nhost: 127.0.0.1\r\ncontent-length: 5\r\ncontent-length: 6\r\nconnection: close\r\n\r\nunits".to_owned(),
        "POST /units HTTP/1.1\r\nhost: 127.0.0.1\r\ncontent-length: -5\r\nconnection: close\r\n\r\nunits".to_owned(),
        "POST /units HTTP/1.1\r\nhost: 127.0.0.1\r\ntransfer-encoding: xchunked\r\nconnection: close\r\n\r\nunits".to_owned(),
        "POST /units HTTP/1.1\r\nhost: 127.0.0.1\r\ntransfer-encoding: chunked\r\nconnection: close\r\n\r\nZZ\r\nunits\r\n0\r\n\r\n".to_owned(),
        "GET http://rebound.example/ HTTP/1.1\r\nconnection: close\r\n\r\n".to_owned(),
        "GET / HTTP/1.0\r\n\r\n".to_owned(),
    ];
    for request in requests {
        let answer = said_whatever(open.main, request.as_bytes()).await;
        let shown: String = request.chars().take(80).collect();
        // Closed without a word, or refused.
        assert!(
            answer.is_empty() || (400..600).contains(&status(&answer)) && status(&answer) != 500,
            "{shown:?}: {answer}"
        );
    }
    assert_eq!(
        status(&ask(open.main, "GET / HTTP/1.1\r\nhost: 127.0.0.1").await),
        200
    );
}

/// As [`said`], where the server may close before all was sent.
async fn said_whatever(to: SocketAddr, bytes: &[u8]) -> String {
    let mut stream = TcpStream::connect(to).await.unwrap();
    let _ = stream.write_all(bytes).await;
    let _ = stream.shutdown().await;
    let mut answer = Vec::new();
    let read = stream.read_to_end(&mut answer);
    tokio::time::timeout(Duration::from_secs(20), read)
        .await
        .expect("held open")
        .ok();
    String::from_utf8_lossy(&answer).into_owned()
}
