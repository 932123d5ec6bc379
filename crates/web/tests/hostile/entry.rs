//! The entry points, and what must hold for every answer of them.

use serde_json::Value;

use crate::bench;
use crate::described;
use crate::house::{Answer, FORM, House, JSON, TOML, escaped};

/// Where bytes of strangers come in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Entry {
    Batch,
    Library,
    Tasting,
    Quantity,
    Report,
    Log,
    Senml,
    Recipes,
    Form,
}

impl Entry {
    /// The folder of the corpus.
    pub fn folder(self) -> String {
        format!("{self:?}").to_lowercase()
    }

    /// Sends the bytes wherever such bytes may be sent, and holds every answer to the laws.
    pub async fn meet(self, house: &House, bytes: &[u8]) {
        let batch = format!("/api/batches/{}", house.batch);
        let home = format!("/batch/{}", house.batch);
        let ask = Ask { house, bytes };
        match self {
            Self::Batch => {
                for path in ["/api/reckon", "/api/check", "/api/package", "/api/batches"] {
                    ask.api(path, TOML, bytes.to_vec()).await;
                }
            }
            Self::Library => {
                for (shelf, id) in [
                    ("/waters", &house.water),
                    ("/brewhouses", &house.brewhouse),
                    ("/stores", &house.stores),
                ] {
                    let at = format!("{shelf}/{id}");
                    ask.text(&at).await;
                    ask.page(&at).await;
                    ask.page(&format!("{at}/history")).await;
                }
                ask.page("/instruments").await;
                ask.page(&format!("{home}?bench=water")).await;
            }
            Self::Tasting => {
                let made = ask.api("/api/tastings", TOML, bytes.to_vec()).await;
                if made.status == 201 {
                    let api = made.header("location").to_owned();
                    ask.page(&api).await;
                    ask.page(&api.replace("/api/tastings", "/tasting")).await;
                }
            }
            Self::Quantity => {
                let typed = escaped(bytes);
                for query in [
                    format!("hydrometer?reading={typed}&at={typed}"),
                    format!("alcohol?original={typed}&now={typed}"),
                    format!("keg?aim={typed}&at={typed}"),
                ] {
                    ask.page(&format!("/api/measure/{query}")).await;
                }
                ask.page(&format!(
                    "/measure?tool=hydrometer&reading={typed}&at={typed}"
                ))
                .await;
                let edit = format!("{home}/edit");
                for key in [
                    "batch.volume",
                    "mash.rest[1].temperature",
                    "water.source[1].calcium",
                ] {
                    let on = ask.newest(&home).await;
                    ask.form(&edit, &[("on", on.as_bytes()), (key, bytes)])
                        .await;
                }
            }
            Self::Report => {
                let text = String::from_utf8_lossy(bytes);
                let body = serde_json::json!({ "text": text }).to_string();
                ask.api("/api/water/report", JSON, body.into_bytes()).await;
                ask.files("/waters/read", &[("file", bytes)]).await;
                ask.files("/waters/read", &[("text", bytes), ("do", b"keep")])
                    .await;
            }
            Self::Log => {
                let log = format!("{home}/log");
                ask.files(&log, &[("text", bytes)]).await;
                ask.files(&log, &[("file", bytes), ("do", b"keep")]).await;
                ask.page(&log).await;
                ask.page(&format!("{home}/log/chart/log.csv")).await;
                ask.page(&format!("{batch}/readings")).await;
            }
            Self::Senml => {
                ask.api(&format!("{batch}/readings"), JSON, bytes.to_vec())
                    .await;
                ask.page(&format!("{batch}/readings")).await;
                ask.page(&format!("{home}/log")).await;
            }
            Self::Recipes => {
                ask.api("/api/recipes/read", JSON, bytes.to_vec()).await;
                let made = ask.api("/api/recipes", JSON, bytes.to_vec()).await;
                ask.files("/recipes", &[("file", bytes)]).await;
                if made.status == 201 {
                    ask.page("/").await;
                }
            }
            Self::Form => {
                for path in FORMS {
                    let path = path
                        .replace("{batch}", &house.batch)
                        .replace("{tasting}", &house.tasting)
                        .replace("{water}", &house.water);
                    let answer = house.send("POST", &path, FORM, bytes.to_vec()).await;
                    ask.hold("POST", &path, &answer);
                    // A text with faults is kept with them: that is no refusal.
                    let texts = path.ends_with("/text");
                    ask.kept(&path, if texts { 0 } else { answer.status }).await;
                }
            }
        }
    }
}

/// Forms of every kind; each takes the same bytes.
const FORMS: [&str; 24] = [
    "/begin",
    "/import",
    "/units",
    "/waters",
    "/brewhouses",
    "/stores",
    "/devices",
    "/instruments",
    "/instruments/check",
    "/waters/{water}/edit",
    "/waters/{water}/analysis",
    "/waters/{water}/bring-back",
    "/batch/{batch}/edit",
    "/batch/{batch}/text",
    "/batch/{batch}/undo",
    "/batch/{batch}/take-water",
    "/batch/{batch}/brew-day",
    "/batch/{batch}/brew-day/do",
    "/batch/{batch}/pitch/count",
    "/batch/{batch}/course/reading",
    "/batch/{batch}/inquiry",
    "/batch/{batch}/tasting",
    "/batch/{batch}/log/enter",
    "/tasting/{tasting}/answer",
];

/// Bytes on their way.
struct Ask<'a> {
    house: &'a House,
    bytes: &'a [u8],
}

impl Ask<'_> {
    /// What was sent, for the message of a failure.
    fn shown(&self) -> String {
        let text = String::from_utf8_lossy(self.bytes);
        let start: String = text.chars().take(6000).collect();
        format!("{} bytes: {start:?}", self.bytes.len())
    }

    async fn api(&self, path: &str, kind: &str, body: Vec<u8>) -> Answer {
        let answer = self.house.send("POST", path, kind, body).await;
        self.hold("POST", path, &answer);
        self.kept(path, answer.status).await;
        answer
    }

    async fn page(&self, path: &str) {
        let answer = self.house.get(path).await;
        self.hold("GET", path, &answer);
    }

    async fn form(&self, path: &str, fields: &[(&str, &[u8])]) {
        let answer = self.house.form(path, fields).await;
        self.hold("POST", path, &answer);
        self.kept(path, answer.status).await;
    }

    async fn files(&self, path: &str, fields: &[(&str, &[u8])]) {
        let answer = self.house.files(path, fields).await;
        self.hold("POST", path, &answer);
        self.kept(path, answer.status).await;
    }

    /// The newest revision of a document.
    async fn newest(&self, at: &str) -> String {
        let page = self.house.get(&format!("{at}/text")).await.text();
        let on = page.split("name=\"on\" value=\"").nth(1).unwrap();
        on.split('"').next().unwrap().to_owned()
    }

    /// Saves the bytes as the text of a document, on its newest revision.
    async fn text(&self, at: &str) {
        let on = self.newest(at).await;
        let path = format!("{at}/text");
        let fields = [("on", on.as_bytes()), ("text", self.bytes)];
        let answer = self.house.form(&path, &fields).await;
        self.hold("POST", &path, &answer);
        // A text with faults is kept with them: that is no refusal.
        self.kept(&path, 0).await;
    }

    /// Notes what is kept now; after a refusal it is what was kept before. What somebody
    /// else has changed in between is no refusal: the text is kept beside.
    async fn kept(&self, path: &str, status: u16) {
        let now = self.house.kept().await;
        let before = std::mem::replace(&mut *self.house.last.lock().unwrap(), now.clone());
        let refused = status >= 400 && status != 409;
        let new = || {
            now.lines()
                .filter(|line| !before.contains(line))
                .collect::<Vec<_>>()
        };
        assert!(
            !refused || now == before,
            "{path} kept {:?}: {}",
            new(),
            self.shown()
        );
    }

    /// No defect, nothing that is no number, and a refusal that says something.
    fn hold(&self, method: &str, path: &str, answer: &Answer) {
        let what = || format!("{method} {path}: {} for {}", answer.status, self.shown());
        assert!(answer.status < 500, "{}\n{}", what(), answer.text());
        if answer.header("content-type").contains("json") {
            let body: Value =
                serde_json::from_slice(&answer.body).unwrap_or_else(|e| panic!("{e}: {}", what()));
            if answer.status >= 400 {
                assert!(
                    body["detail"].as_str().is_some_and(|d| d.len() > 10),
                    "{}: {body}",
                    what()
                );
            }
            // A number that is not finite comes out as null, where the schema has a number.
            described::hold(
                method,
                path,
                &bench::Answer {
                    status: answer.status,
                    headers: answer.headers.clone(),
                    body,
                },
            );
        } else if answer.status >= 400 {
            assert!(answer.body.len() > 10, "{}: says nothing", what());
        }
    }
}
