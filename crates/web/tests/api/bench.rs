//! The router over a store of its own, and a way to talk to it.

use app::{App, Demo};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request};
use serde_json::Value;
use tempfile::TempDir;
use tower::ServiceExt;

use crate::described;

pub const TOML: (&str, &str) = ("content-type", "application/toml");
pub const JSON: (&str, &str) = ("content-type", "application/json");

pub struct Bench {
    router: Router,
    pub app: App,
    _folder: TempDir,
}

/// An answer, already held against the OpenAPI document.
pub struct Answer {
    pub status: u16,
    pub headers: HeaderMap,
    pub body: Value,
}

impl Answer {
    pub fn header(&self, name: &str) -> &str {
        self.headers.get(name).map_or("", |v| v.to_str().unwrap())
    }

    /// The title of the problem, after a look at its shape.
    pub fn problem(&self, status: u16) -> &str {
        assert_eq!(self.status, status, "{}", self.body);
        self.body["title"].as_str().unwrap()
    }
}

impl Bench {
    pub async fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(folder.path().join("store.db").as_path())
            .await
            .unwrap();
        let router = web::router(app.clone(), web::Hosts::new(&[]));
        Self {
            router,
            app,
            _folder: folder,
        }
    }

    pub async fn send(
        &self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: impl Into<Body>,
    ) -> Answer {
        let mut request = Request::builder()
            .method(method)
            .uri(path)
            .header("host", "localhost");
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        let request = request.body(body.into()).unwrap();
        let response = self.router.clone().oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        let bytes = to_bytes(body, 64 << 20).await.unwrap();
        let answer = Answer {
            status: parts.status.as_u16(),
            headers: parts.headers,
            body: serde_json::from_slice(&bytes).unwrap_or_else(|e| {
                panic!(
                    "{method} {path}: {e} in {}",
                    String::from_utf8_lossy(&bytes)
                )
            }),
        };
        described::hold(method, path, &answer);
        answer
    }

    pub async fn get(&self, path: &str) -> Answer {
        self.send("GET", path, &[], "").await
    }

    pub async fn post_toml(&self, path: &str, text: &str) -> Answer {
        self.send("POST", path, &[TOML], text.to_owned()).await
    }

    pub async fn post_json(&self, path: &str, body: Value) -> Answer {
        self.send("POST", path, &[JSON], body.to_string()).await
    }

    pub async fn put(&self, path: &str, on: &str, text: &str) -> Answer {
        self.send("PUT", path, &[TOML, ("if-match", on)], text.to_owned())
            .await
    }

    /// A batch of the first demo; its address.
    pub async fn batch(&self) -> String {
        let made = self.post_toml("/api/batches", demo()).await;
        assert_eq!(made.status, 201, "{}", made.body);
        made.header("location").to_owned()
    }
}

/// A document without faults.
pub fn demo() -> &'static str {
    Demo::find("lantern-pale").unwrap().text
}

/// The same with another name.
pub fn renamed(name: &str) -> String {
    demo().replace("Lantern Pale, second brewing", name)
}

/// A document with a fault: no length of a name is a volume.
pub fn faulty() -> String {
    demo().replace("volume = \"20 L\"", "volume = \"a bathtub\"")
}
