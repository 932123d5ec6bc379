//! A server over a store of its own, and every way to talk to it.

use std::sync::Mutex;

use app::{App, LibraryKind};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request};
use tempfile::TempDir;
use tower::ServiceExt;
use web::Hosts;

pub const PALE: &str = include_str!("../../../../examples/lantern-pale.toml");
pub const TASTING: &str = "[tasting]\nname = \"beside\"\nbeer = \"ours\"\nreference = \"theirs\"\ntastings = \"6\"\nseed = \"3\"\n[[taster]]\nname = \"Ann\"\n";
pub const FORM: &str = "application/x-www-form-urlencoded";
pub const TOML: &str = "application/toml";
pub const JSON: &str = "application/json";

/// The server, with a batch, a water, a brewhouse, stores and a tasting in it.
pub struct House {
    pub app: App,
    pub router: Router,
    pub batch: String,
    pub water: String,
    pub brewhouse: String,
    pub stores: String,
    pub tasting: String,
    /// What was kept after the last request that could change something.
    pub last: Mutex<String>,
    _folder: TempDir,
}

/// What comes back.
pub struct Answer {
    pub status: u16,
    pub headers: HeaderMap,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn header(&self, name: &str) -> &str {
        self.headers.get(name).map_or("", |v| v.to_str().unwrap())
    }

    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }
}

impl House {
    pub async fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(folder.path().join("store.db").as_path())
            .await
            .unwrap();
        let batch = app.keep_batch(PALE, "").await.unwrap().id.to_string();
        let tasting = TASTING.replacen("[tasting]", &format!("[tasting]\nbatch = \"{batch}\""), 1);
        let tasting = app.keep_tasting(&tasting).await.unwrap().id.to_string();
        let mut first = Vec::new();
        for kind in [
            LibraryKind::Water,
            LibraryKind::Brewhouse,
            LibraryKind::Stores,
        ] {
            first.push(app.keep_demo_library(kind).await.unwrap()[0].to_string());
        }
        let [water, brewhouse, stores] = first.try_into().unwrap();
        let house = Self {
            router: web::router(app.clone(), Hosts::new(&[])),
            app,
            batch,
            water,
            brewhouse,
            stores,
            tasting,
            last: Mutex::default(),
            _folder: folder,
        };
        let now = house.kept().await;
        *house.last.lock().unwrap() = now;
        house
    }

    /// A request with these headers and no others.
    pub async fn bare(
        &self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: impl Into<Body>,
    ) -> Answer {
        let mut request = Request::builder().method(method).uri(path);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let request = request.body(body.into()).unwrap();
        let response = self.router.clone().oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        Answer {
            status: parts.status.as_u16(),
            headers: parts.headers,
            body: to_bytes(body, 64 << 20).await.unwrap().to_vec(),
        }
    }

    /// A request as a page of this server makes it.
    pub async fn send(
        &self,
        method: &str,
        path: &str,
        kind: &str,
        body: impl Into<Body>,
    ) -> Answer {
        let own = [
            ("host", "localhost"),
            ("origin", "http://localhost"),
            ("content-type", kind),
        ];
        self.bare(method, path, &own, body).await
    }

    pub async fn get(&self, path: &str) -> Answer {
        self.bare("GET", path, &[("host", "localhost")], "").await
    }

    pub async fn form(&self, path: &str, fields: &[(&str, &[u8])]) -> Answer {
        let pairs: Vec<String> = fields
            .iter()
            .map(|(name, value)| format!("{}={}", escaped(name.as_bytes()), escaped(value)))
            .collect();
        self.send("POST", path, FORM, pairs.join("&")).await
    }

    /// A form with files.
    pub async fn files(&self, path: &str, fields: &[(&str, &[u8])]) -> Answer {
        const EDGE: &str = "an-edge-that-no-file-holds";
        let mut body = Vec::new();
        for (name, value) in fields {
            let file = if *name == "file" {
                "; filename=\"sent\""
            } else {
                ""
            };
            let head = format!(
                "--{EDGE}\r\ncontent-disposition: form-data; name=\"{name}\"{file}\r\n\r\n"
            );
            body.extend_from_slice(head.as_bytes());
            body.extend_from_slice(value);
            body.extend_from_slice(b"\r\n");
        }
        body.extend_from_slice(format!("--{EDGE}--\r\n").as_bytes());
        let kind = format!("multipart/form-data; boundary={EDGE}");
        self.send("POST", path, &kind, body).await
    }

    /// Everything that is kept, in a few words: what is refused must leave it as it was.
    pub async fn kept(&self) -> String {
        let archive = self.app.everything().await.unwrap();
        // The names of the files, and how long each is; times of the archive are left out.
        let mut told = String::new();
        let mut rest = archive.as_slice();
        while let Some((head, after)) = rest.split_at_checked(512) {
            let size = std::str::from_utf8(&head[124..135]).unwrap_or_default();
            let Ok(size) = usize::from_str_radix(size.trim_matches(['\0', ' ']), 8) else {
                break;
            };
            let name = head[..100].split(|b| *b == 0).next().unwrap_or_default();
            told.push_str(&format!("{} {size}\n", String::from_utf8_lossy(name)));
            rest = after.get(size.next_multiple_of(512)..).unwrap_or_default();
        }
        told
    }
}

pub fn escaped(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("%{b:02X}")).collect()
}
