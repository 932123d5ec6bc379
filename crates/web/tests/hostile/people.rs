//! A shared server: every route of the router, asked by nobody, by somebody of another
//! group, by a token and by a device of another group.

use std::collections::BTreeSet;

use app::people::{Door, Tried};
use app::{App, LibraryKind};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::Request;
use store::{Role, SignedIn};
use tempfile::TempDir;
use tower::ServiceExt;
use web::{Hosts, Sharing};

use crate::doors::routes_of;
use crate::house::{Answer, FORM, JSON, PALE, TASTING, TOML};

const PASSWORD: &str = "ladle copper tide eleven";
const METHODS: [&str; 5] = ["GET", "POST", "PUT", "PATCH", "DELETE"];

/// A server with two groups that know nothing of each other.
struct Club {
    app: App,
    router: Router,
    door: Door,
    folder: TempDir,
}

/// Somebody who is signed in.
struct Person {
    /// The cookie of the session.
    session: String,
    who: SignedIn,
    app: App,
}

/// Something of each kind.
struct Things {
    batch: String,
    water: String,
    brewhouse: String,
    stores: String,
    tasting: String,
    side: String,
    device: String,
    device_token: String,
}

impl Club {
    async fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let app = App::open(folder.path().join("store.db").as_path())
            .await
            .unwrap();
        Self {
            router: web::shared_router(&app, Hosts::new(&[]), Sharing::default()).unwrap(),
            door: app.door().unwrap(),
            app,
            folder,
        }
    }

    async fn keeper(&self, name: &str) -> Person {
        let (_, invitation) = self.door.begin(&format!("{name} club")).await.unwrap();
        self.enter(&invitation, name).await
    }

    async fn enter(&self, invitation: &str, name: &str) -> Person {
        let entered = self.door.enter(invitation, name, "", PASSWORD).await;
        self.seen(&entered.unwrap()).await
    }

    async fn seen(&self, token: &str) -> Person {
        let who = self.door.session(token).await.unwrap().unwrap();
        Person {
            session: format!("gyle={token}"),
            app: self.app.acting_as(&who),
            who,
        }
    }

    async fn ask(
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
        Answer {
            status: parts.status.as_u16(),
            headers: parts.headers,
            body: to_bytes(body, 64 << 20).await.unwrap().to_vec(),
        }
    }

    async fn get(&self, person: &Person, path: &str) -> Answer {
        self.ask("GET", path, &[("cookie", &person.session)], "")
            .await
    }

    async fn form(&self, person: Option<&Person>, path: &str, fields: &[(&str, &str)]) -> Answer {
        let body = pairs(fields);
        let own = ("origin", "http://localhost");
        let kind = ("content-type", FORM);
        match person {
            Some(person) => {
                let headers = [own, kind, ("cookie", person.session.as_str())];
                self.ask("POST", path, &headers, body).await
            }
            None => self.ask("POST", path, &[own, kind], body).await,
        }
    }
}

fn pairs(fields: &[(&str, &str)]) -> String {
    let pair = |(name, value): &(&str, &str)| {
        format!("{name}={}", crate::house::escaped(value.as_bytes()))
    };
    fields.iter().map(pair).collect::<Vec<_>>().join("&")
}

async fn fill(person: &Person) -> Things {
    let app = &person.app;
    let text = PALE.replacen("name = \"Lantern Pale", "name = \"Hidden Pale", 1);
    let open = app.keep_batch(&text, "").await.unwrap();
    let batch = open.id.to_string();
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
    app.save_text(open.id, open.revision, &format!("{text}\n# second\n"))
        .await
        .unwrap();
    app.save_text(open.id, open.revision, &format!("{text}\n# refused\n"))
        .await
        .unwrap_err();
    let (_, sides) = app.history(open.id).await.unwrap();
    let made = app.make_device("hidden float", open.id).await.unwrap();
    Things {
        batch,
        water,
        brewhouse,
        stores,
        tasting,
        side: sides[0].id.to_string(),
        device: made.device.id.to_string(),
        device_token: made.token,
    }
}

/// A path that names things of somebody.
fn filled(path: &str, t: &Things, person: &Person) -> String {
    let member = person.who.account.to_string();
    let id = match path.split('/').nth(1).unwrap_or_default() {
        "waters" => &t.water,
        "brewhouses" => &t.brewhouse,
        "stores" => &t.stores,
        "tasting" => &t.tasting,
        "devices" => &t.device,
        "group" if path.contains("members") => &member,
        _ if path.starts_with("/api/tastings") => &t.tasting,
        _ => &t.batch,
    };
    path.replace("{id}", id)
        .replace("{revision}", "1")
        .replace("{n}", "1")
        .replace("{number}", "1")
        .replace("{place}", "1")
        .replace("{version}", &t.side)
        .replace("{token}", "none")
        .replace("/demo/{name}", "/demo/lantern-pale")
        .replace("/demos/{name}", "/demos/lantern-pale")
        .replace("/assets/{name}", "/assets/gyle.css")
        .replace("/schema/{name}", "/schema/batch")
        .replace("{name}", "course.svg")
        .replace("{key}", "none")
}

/// What a request may name in its query and its body.
fn named(t: &Things, person: &Person) -> Vec<(&'static str, String)> {
    let batch = &t.batch;
    vec![
        ("on", "2".to_owned()),
        ("base", "2".to_owned()),
        ("revision", "1".to_owned()),
        ("of", batch.clone()),
        ("with", batch.clone()),
        ("batch", batch.clone()),
        ("water", t.water.clone()),
        ("brewhouse", t.brewhouse.clone()),
        ("stores", t.stores.clone()),
        ("from", t.water.clone()),
        ("side", t.side.clone()),
        ("kept", t.side.clone()),
        ("group", person.who.group.to_string()),
        ("role", "keep".to_owned()),
        ("may", "brew".to_owned()),
        ("text", "[batch]\nname = \"taken over\"\n".to_owned()),
        ("name", "taken over".to_owned()),
        ("place", "1".to_owned()),
        ("units", "us".to_owned()),
        ("do", "keep".to_owned()),
    ]
}

fn json(t: &Things) -> String {
    serde_json::json!({
        "batch": t.batch, "of": t.batch, "id": t.batch, "version": t.side, "revision": 1, "on": 2,
        "edits": [{ "path": "batch.name", "value": "taken over" }],
        "batches": [t.batch, t.batch], "documents": [{ "batch": t.batch }, { "batch": t.batch }],
        "waters": [t.water], "water": t.water,
    })
    .to_string()
}

/// What a person's group owns, to the byte, but for the times in the heads of the archive.
async fn picture(person: &Person) -> Vec<(String, Vec<u8>)> {
    let archive = person.app.everything().await.unwrap();
    let mut files = Vec::new();
    let mut rest = archive.as_slice();
    while let Some((head, after)) = rest.split_at_checked(512) {
        let size = std::str::from_utf8(&head[124..135]).unwrap_or_default();
        let Ok(size) = usize::from_str_radix(size.trim_matches(['\0', ' ']), 8) else {
            break;
        };
        let name = head[..100].split(|b| *b == 0).next().unwrap_or_default();
        let name = String::from_utf8_lossy(name).into_owned();
        files.push((name, after[..size].to_vec()));
        rest = after.get(size.next_multiple_of(512)..).unwrap_or_default();
    }
    files.sort();
    assert!(files.len() > 10, "{}", files.len());
    files
}

/// How somebody asks.
struct Way<'w> {
    headers: Vec<(&'w str, &'w str)>,
    only_api: bool,
}

#[tokio::test]
async fn whoever_is_not_in_comes_to_the_door() {
    let club = Club::new().await;
    let ann = club.keeper("annabel").await;
    let things = fill(&ann).await;
    let before = picture(&ann).await;
    let open: BTreeSet<&str> = [
        "GET /sign-in",
        "POST /sign-in",
        "GET /invitation/{token}",
        "POST /invitation/{token}",
        "GET /assets/{name}",
        "GET /health",
        "GET /ready",
    ]
    .into();
    let ways = [
        vec![],
        vec![("cookie", "gyle=none; __Host-gyle=none; seat=none")],
        vec![("authorization", "Bearer gyle-none")],
        vec![("authorization", "Basic YW5uYWJlbDp4")],
    ];
    let mut turned_away = 0;
    let routes = routes_of(&club.router);
    assert!(routes.len() > 150, "{routes:#?}");
    for path in routes {
        let at = filled(&path, &things, &ann);
        for method in METHODS {
            if open.contains(format!("{method} {path}").as_str()) {
                continue;
            }
            for way in &ways {
                let mut headers = way.clone();
                headers.extend([("origin", "http://localhost"), ("content-type", JSON)]);
                let answer = club.ask(method, &at, &headers, "{}").await;
                let what = format!("{method} {at}: {}", answer.status);
                if path.starts_with("/api") {
                    assert_eq!(answer.status, 401, "{what}");
                    assert_eq!(answer.header("www-authenticate"), "Bearer", "{what}");
                    // A device's door is that of `devices` and words it itself.
                    assert!(
                        answer.header("content-type").contains("problem+json"),
                        "{what}"
                    );
                } else if answer.status == 303 {
                    assert!(answer.header("location").starts_with("/sign-in"), "{what}");
                } else {
                    assert_eq!(answer.status, 401, "{what}");
                }
                assert!(!answer.text().contains("Hidden"), "{what}");
                turned_away += 1;
            }
        }
    }
    assert!(turned_away > 2_000, "{turned_away}");
    for at in ["/none", "/api/none", "/batch", "/metrics"] {
        let answer = club.ask("GET", at, &[], "").await;
        assert!(
            matches!(answer.status, 303 | 401),
            "{at}: {}",
            answer.status
        );
    }
    assert_eq!(picture(&ann).await, before);
}

#[tokio::test]
async fn no_route_leads_to_another_group() {
    let club = Club::new().await;
    let ann = club.keeper("annabel").await;
    let things = fill(&ann).await;
    let eve = club.keeper("eve").await;
    let before = picture(&ann).await;
    let token = format!(
        "Bearer {}",
        eve.app.make_token("script", Role::Keep).await.unwrap()
    );
    let own = eve.app.keep_batch(PALE, "").await.unwrap();
    let device = eve.app.make_device("float", own.id).await.unwrap();
    let device = format!("Bearer {}", device.token);
    let origin = ("origin", "http://localhost");
    let ways = [
        Way {
            headers: vec![origin, ("cookie", &eve.session)],
            only_api: false,
        },
        Way {
            headers: vec![("authorization", &token)],
            only_api: true,
        },
        Way {
            headers: vec![("authorization", &device)],
            only_api: true,
        },
    ];
    let fields = named(&things, &ann);
    let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
    let query = pairs(&fields);
    let json = json(&things);
    let bodies = [(FORM, query.as_str()), (JSON, &json), (TOML, PALE)];
    // What a person does to the own account, and would end the session of this test.
    let skipped = ["/you/sign-out", "/you/sign-out-everywhere", "/you/close"];
    let (mut asked, mut not_there) = (0, BTreeSet::new());
    for path in routes_of(&club.router) {
        if skipped.contains(&path.as_str()) {
            continue;
        }
        let at = filled(&path, &things, &ann);
        let names_a_thing = path.contains("{id}");
        for method in METHODS {
            let bodies: &[(&str, &str)] = if method == "GET" {
                &[(FORM, "")]
            } else {
                &bodies
            };
            for way in ways
                .iter()
                .filter(|w| !w.only_api || path.starts_with("/api"))
            {
                for (kind, body) in bodies {
                    let asks = [at.clone(), format!("{at}?{query}")];
                    // A change names things in its body; a query more would be refused first.
                    let asks = &asks[..if method == "GET" { 2 } else { 1 }];
                    for at in asks {
                        let mut headers = way.headers.clone();
                        headers.extend([("content-type", *kind), ("if-match", "\"2\"")]);
                        let answer = club.ask(method, at, &headers, (*body).to_owned()).await;
                        let what = format!("{method} {at} {kind}: {}", answer.status);
                        assert!(answer.status < 500, "{what}\n{}", answer.text());
                        let text = answer.text();
                        for secret in ["Hidden", "hidden float", "annabel"] {
                            // What was sent may come back.
                            assert!(!text.contains(secret), "{what} tells {secret}\n{text}");
                        }
                        if names_a_thing {
                            let shut = (400..500).contains(&answer.status);
                            // Nothing is said where a token or an invitation of others is named.
                            let silent = answer.status == 303
                                && (path.starts_with("/you/tokens") || path.contains("withdraw"));
                            assert!(shut || silent, "{what}\n{text}");
                            if answer.status == 404 {
                                not_there.insert(format!("{method} {path}"));
                            }
                        }
                        asked += 1;
                        if answer.status == 405 {
                            break;
                        }
                    }
                }
            }
        }
    }
    assert!(asked > 1_000, "{asked}");
    // Most routes that name a document came as far as to look for it.
    assert!(not_there.len() > 60, "{} {not_there:#?}", not_there.len());
    assert_eq!(picture(&ann).await, before);
    // The device of the other group still sends to its own batch, this one's to this one's.
    let pack = r#"[{"n":"float/ph","u":"pH","v":5.2,"t":1700000000}]"#;
    for (token, app) in [
        (things.device_token.as_str(), &ann.app),
        (&device[7..], &eve.app),
    ] {
        let bearer = format!("Bearer {token}");
        let headers = [
            ("authorization", bearer.as_str()),
            ("content-type", "application/senml+json"),
        ];
        assert_eq!(
            club.ask("POST", "/api/readings", &headers, pack)
                .await
                .status,
            200
        );
        let devices = app.devices().await.unwrap();
        assert_eq!(devices.len(), 1);
        assert!(devices[0].heard_at.is_some());
    }
    // Whoever owns the things finds them under the same addresses.
    for at in [
        format!("/batch/{}", things.batch),
        format!("/batch/{}/history", things.batch),
        format!("/batch/{}/text", things.batch),
        format!("/waters/{}", things.water),
        format!("/tasting/{}", things.tasting),
        format!("/share/{}", things.batch),
        format!("/api/batches/{}", things.batch),
        format!("/api/batches/{}/kept/{}", things.batch, things.side),
        "/group".to_owned(),
        "/group/audit".to_owned(),
        "/you".to_owned(),
        "/you/data.json".to_owned(),
        "/devices".to_owned(),
        "/api/me".to_owned(),
        "/api/group".to_owned(),
        "/api/study".to_owned(),
    ] {
        let answer = club.get(&ann, &at).await;
        assert_eq!(answer.status, 200, "{at}\n{}", answer.text());
    }
    drop(club.folder);
}

#[tokio::test]
async fn a_reader_changes_nothing_and_a_brewer_manages_nothing() {
    let club = Club::new().await;
    let ann = club.keeper("annabel").await;
    let things = fill(&ann).await;
    let keeper = &ann.app;
    let invite = |role| async move { keeper.invite(role).await.unwrap().1 };
    let reader = club.enter(&invite(Role::Read).await, "rea").await;
    let brewer = club.enter(&invite(Role::Brew).await, "bob").await;
    let before = picture(&ann).await;
    let fields = named(&things, &ann);
    let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
    let mut forbidden = BTreeSet::new();
    // Searches over many draws answer readers too, and take long.
    let long = [
        "steer",
        "match",
        "/move",
        "certainty",
        "minerals",
        "compare",
        "waters",
    ];
    for path in routes_of(&club.router) {
        let own = path.starts_with("/you") || path == "/group/look" || path == "/group/make";
        if own || path == "/group/leave" || long.iter().any(|l| path.contains(l)) {
            continue;
        }
        let at = filled(&path, &things, &ann);
        let answer = club.form(Some(&reader), &at, &fields).await;
        assert!(
            answer.status < 500,
            "{at}: {}\n{}",
            answer.status,
            answer.text()
        );
        if answer.status == 403 {
            forbidden.insert(path);
        }
    }
    for known in [
        "/batch/{id}/text",
        "/batch/{id}/bring-back",
        "/devices",
        "/devices/{id}/revoke",
        "/group/invite",
        "/group/members/{id}/remove",
        "/share/{id}",
        "/stores/demo",
    ] {
        assert!(forbidden.contains(known), "{known} {forbidden:#?}");
    }
    assert!(forbidden.len() > 15, "{forbidden:#?}");
    assert_eq!(picture(&ann).await, before);
    let edit = [("on", "2"), ("batch.volume", "21 L")];
    let path = format!("/batch/{}/edit", things.batch);
    assert_eq!(club.form(Some(&reader), &path, &edit).await.status, 403);
    // The pages are there to be read.
    let page = club.get(&reader, &format!("/batch/{}", things.batch)).await;
    assert!(page.status == 200 && page.text().contains("Hidden Pale"));
    let audit = club.get(&reader, "/group/audit").await;
    assert_eq!(audit.status, 403);

    let saved = [("on", "2"), ("text", PALE)];
    let path = format!("/batch/{}/text", things.batch);
    assert_eq!(club.form(Some(&brewer), &path, &saved).await.status, 303);
    for (path, fields) in [
        ("/group/invite".to_owned(), vec![("role", "read")]),
        (
            format!("/group/members/{}/role", reader.who.account),
            vec![("role", "keep")],
        ),
        (format!("/group/members/{}/remove", ann.who.account), vec![]),
        (
            format!("/share/{}", things.batch),
            vec![("group", ""), ("code", ""), ("may", "read")],
        ),
    ] {
        let answer = club.form(Some(&brewer), &path, &fields).await;
        assert!(
            matches!(answer.status, 403 | 422),
            "{path}: {}",
            answer.status
        );
    }
    assert_eq!(ann.app.members().await.unwrap().len(), 3);
    assert_eq!(ann.app.invitations().await.unwrap().len(), 0);
}

#[tokio::test]
async fn signing_in_takes_an_own_page_and_a_new_token_and_not_too_many_tries() {
    let club = Club::new().await;
    let ann = club.keeper("annabel").await;
    // A change that does not say from which page it comes is none.
    let silent = [("cookie", ann.session.as_str()), ("content-type", FORM)];
    let answer = club.ask("POST", "/group/make", &silent, "name=x").await;
    assert_eq!(answer.status, 403);
    let answer = club
        .ask(
            "POST",
            "/sign-in",
            &[("content-type", FORM)],
            "name=a&password=b",
        )
        .await;
    assert_eq!(answer.status, 403);

    // A session that was laid into the browser beforehand is not the one that comes out.
    let planted = Person {
        session: "gyle=planted".to_owned(),
        who: ann.who.clone(),
        app: ann.app.clone(),
    };
    let credentials = [
        ("name", " Annabel "),
        ("password", PASSWORD),
        ("to", "/waters?find=a"),
    ];
    let answer = club.form(Some(&planted), "/sign-in", &credentials).await;
    assert_eq!(
        (answer.status, answer.header("location")),
        (303, "/waters?find=a")
    );
    let cookie = answer.header("set-cookie");
    assert!(
        cookie.starts_with("gyle=") && !cookie.contains("planted"),
        "{cookie}"
    );
    assert!(cookie.contains("HttpOnly; SameSite=Lax"), "{cookie}");
    for away in [
        "//other.example",
        "https://other.example/",
        "/\\other.example",
        "/sign-in",
    ] {
        let fields = [("name", "annabel"), ("password", PASSWORD), ("to", away)];
        let answer = club.form(None, "/sign-in", &fields).await;
        assert_eq!(
            (answer.status, answer.header("location")),
            (303, "/"),
            "{away}"
        );
    }

    // A wrong password and a name that nobody has are answered alike.
    let wrong = |name: &'static str| {
        let club = &club;
        async move {
            let fields = [("name", name), ("password", "not the right password")];
            club.form(None, "/sign-in", &fields).await
        }
    };
    let (known, unknown) = (wrong("annabel").await, wrong("nobodyx").await);
    assert_eq!((known.status, unknown.status), (422, 422));
    assert_eq!(known.text().replace("annabel", "nobodyx"), unknown.text());
    assert!(known.header("set-cookie").is_empty());

    // Ten tries, then a pause; also for the right password, and for nobody else.
    for _ in 0..9 {
        assert_eq!(wrong("nobodyx").await.status, 422);
    }
    let answer = wrong("nobodyx").await;
    assert_eq!(answer.status, 429);
    let wait: u64 = answer.header("retry-after").parse().unwrap();
    assert!((1..=900).contains(&wait), "{wait}");
    let tried = club.door.sign_in("annabel", PASSWORD, None).await.unwrap();
    assert!(matches!(tried, Tried::In(_)), "{tried:?}");
}

#[tokio::test]
async fn what_a_person_does_with_the_own_account() {
    let club = Club::new().await;
    let ann = club.keeper("annabel").await;
    let things = fill(&ann).await;
    // Away from the machine the cookie is for TLS alone.
    let answer = club
        .form(Some(&ann), "/group/invite", &[("role", "brew")])
        .await;
    assert_eq!(answer.status, 200);
    let text = answer.text();
    let path = text.split("href=\"/invitation/").nth(1).unwrap();
    let path = format!("/invitation/{}", path.split('"').next().unwrap());
    let page = club.ask("GET", &path, &[], "").await;
    assert!(page.status == 200 && page.text().contains("annabel club"));
    let fields = |password: &'static str, again: &'static str| {
        [
            ("name", "bob"),
            ("shown", "Bob"),
            ("password", password),
            ("again", again),
        ]
    };
    for (password, again) in [
        ("short", "short"),
        ("password12345", "password12345"),
        (PASSWORD, "another one altogether"),
    ] {
        let answer = club.form(None, &path, &fields(password, again)).await;
        assert_eq!(answer.status, 422, "{password}");
        assert!(!answer.text().contains(&format!("value=\"{password}\"")));
    }
    let answer = club.form(None, &path, &fields(PASSWORD, PASSWORD)).await;
    assert_eq!((answer.status, answer.header("location")), (303, "/"));
    let token = answer
        .header("set-cookie")
        .split([';', '='])
        .nth(1)
        .unwrap()
        .to_owned();
    let bob = club.seen(&token).await;
    assert_eq!(bob.who.role, Role::Brew);
    assert_eq!(club.ask("GET", &path, &[], "").await.status, 404);
    let again = club.form(None, &path, &fields(PASSWORD, PASSWORD)).await;
    assert_eq!(again.status, 404);

    // Own data names what was written, and no secret.
    let saved = [("on", "2"), ("text", PALE)];
    let text = format!("/batch/{}/text", things.batch);
    assert_eq!(club.form(Some(&bob), &text, &saved).await.status, 303);
    let made = club
        .form(
            Some(&bob),
            "/you/tokens",
            &[("name", "script"), ("role", "brew")],
        )
        .await;
    assert_eq!(made.status, 200);
    let data = club.get(&bob, "/you/data.json").await;
    let data: serde_json::Value = serde_json::from_slice(&data.body).unwrap();
    assert_eq!(data["account"]["name"], "bob");
    assert_eq!(data["written"].as_array().unwrap().len(), 1);
    let told = data.to_string();
    for secret in ["argon2", "gyle-", &token] {
        assert!(!told.contains(secret), "{told}");
    }

    // Another password ends every session.
    let second = club.door.sign_in("bob", PASSWORD, None).await.unwrap();
    let Tried::In(second) = second else {
        panic!("{second:?}")
    };
    let new = "spoon granite river nine";
    let wrong = [
        ("old", "not the right password"),
        ("new", new),
        ("again", new),
    ];
    assert_eq!(
        club.form(Some(&bob), "/you/password", &wrong).await.status,
        422
    );
    let right = [("old", PASSWORD), ("new", new), ("again", new)];
    let out = club.form(Some(&bob), "/you/password", &right).await;
    assert_eq!((out.status, out.header("location")), (303, "/sign-in"));
    assert!(out.header("set-cookie").contains("Max-Age=0"));
    assert_eq!(out.header("clear-site-data"), "\"storage\"");
    assert_eq!(club.door.session(&second).await.unwrap(), None);
    assert_eq!(club.get(&bob, "/").await.status, 303);

    // Closing it takes the password and a tick, and what was written stays.
    let Tried::In(token) = club.door.sign_in("bob", new, None).await.unwrap() else {
        panic!("not in");
    };
    let bob = club.seen(&token).await;
    for fields in [
        vec![("password", new)],
        vec![("password", PASSWORD), ("sure", "yes")],
    ] {
        assert_eq!(
            club.form(Some(&bob), "/you/close", &fields).await.status,
            422
        );
    }
    let sure = [("password", new), ("sure", "yes")];
    assert_eq!(club.form(Some(&bob), "/you/close", &sure).await.status, 303);
    assert_eq!(club.door.session(&token).await.unwrap(), None);
    let tried = club.door.sign_in("bob", new, None).await.unwrap();
    assert_eq!(tried, Tried::Out);
    let history = club
        .get(&ann, &format!("/batch/{}/history", things.batch))
        .await;
    assert!(!history.text().contains("bob"), "{}", history.text());
}

#[tokio::test]
async fn a_group_agrees_to_the_study_by_its_keepers_and_for_itself() {
    let club = Club::new().await;
    let ann = club.keeper("annabel").await;
    let things = fill(&ann).await;
    let eve = club.keeper("eve").await;
    let (_, invitation) = ann.app.invite(Role::Brew).await.unwrap();
    let bob = club.enter(&invitation, "bob").await;
    let agree = "Agree for every batch";

    // Members read what leaves, keepers say the word.
    let at_bob = club.get(&bob, "/group").await.text();
    assert!(at_bob.contains("0 of 1 batches of this group go in") && !at_bob.contains(agree));
    let at_ann = club.get(&ann, "/group").await.text();
    assert!(at_ann.contains(agree) && at_ann.contains("What leaves"));
    let yes = [("agree", "yes")];
    let refused = club.form(Some(&bob), "/study", &yes).await;
    assert_eq!(refused.status, 403, "{}", refused.text());
    let done = club.form(Some(&ann), "/study", &yes).await;
    assert_eq!((done.status, done.header("location")), (303, "/study"));
    let there = club.get(&ann, "/study").await;
    assert_eq!(there.header("location"), "/group#study-title");
    let at_bob = club.get(&bob, "/group").await.text();
    assert!(at_bob.contains("1 of 1 batches of this group go in"));
    assert!(
        club.get(&ann, "/group/audit")
            .await
            .text()
            .contains("agree to the study")
    );

    // The other group's is as it was, and its keeper reaches no batch of this one, shared or not.
    let headers = [
        ("origin", "http://localhost"),
        ("content-type", JSON),
        ("cookie", eve.session.as_str()),
    ];
    let word = format!(r#"{{"agreed":false,"batch":"{}"}}"#, things.batch);
    let unseen = club.ask("POST", "/api/study", &headers, word.clone()).await;
    assert_eq!(unseen.status, 404, "{}", unseen.text());
    let batch = things.batch.parse().unwrap();
    ann.app
        .share(batch, eve.who.group, Role::Brew)
        .await
        .unwrap();
    let shared = club.ask("POST", "/api/study", &headers, word).await;
    assert_eq!(shared.status, 403, "{}", shared.text());
    let state = club.get(&eve, "/api/study").await.text();
    let state: serde_json::Value = serde_json::from_str(&state).unwrap();
    assert_eq!(
        (&state["batches"], &state["every_batch"]),
        (&0.into(), &false.into())
    );
    let state = club.get(&bob, "/api/study").await.text();
    let state: serde_json::Value = serde_json::from_str(&state).unwrap();
    assert_eq!(state["agreed"][0]["id"], things.batch.as_str());

    let no = [("agree", "no")];
    club.form(Some(&ann), "/study", &no).await;
    assert!(ann.app.study_state().await.unwrap().agreed.is_empty());
    let odd = club.form(Some(&ann), "/study", &[("agree", "maybe")]).await;
    assert_eq!(odd.status, 422);
}

#[tokio::test]
async fn a_group_that_asks_for_too_much_work_waits_and_no_other_does() {
    let club = Club::new().await;
    let ann = club.keeper("annabel").await;
    let things = fill(&ann).await;
    let eve = club.keeper("eve").await;
    let ask = async |person: &Person, n: u32| {
        let headers = [
            ("origin", "http://localhost"),
            ("content-type", JSON),
            ("cookie", person.session.as_str()),
        ];
        let body = format!(r#"{{"kind":"certainty","document":"{n}"}}"#);
        club.ask("POST", "/api/jobs", &headers, body).await
    };
    // Nobody works here, so all of them wait.
    for n in 0..store::MOST_OPEN {
        assert_eq!(ask(&ann, n).await.status, 202);
    }
    let refused = ask(&ann, 99).await;
    assert_eq!(refused.status, 429, "{}", refused.text());
    assert!(
        refused.text().contains("wait until one is done"),
        "{}",
        refused.text()
    );
    assert_eq!(refused.header("retry-after"), "10");
    let page = format!("/batch/{}/certainty", things.batch);
    let page = club.get(&ann, &page).await;
    assert_eq!((page.status, page.header("retry-after")), (429, "10"));
    assert!(
        page.text().contains("wait until one is done"),
        "{}",
        page.text()
    );
    assert_eq!(ask(&ann, 0).await.status, 202);
    assert_eq!(ask(&eve, 99).await.status, 202);
}

/// Two servers over one store: what one is told, the other knows with its next answer.
#[tokio::test]
async fn two_servers_share_sessions_and_what_is_forbidden() {
    let club = Club::new().await;
    let ann = club.keeper("annabel").await;
    let things = fill(&ann).await;
    let place = club.folder.path().join("store.db");
    let other = App::open(place.as_path()).await.unwrap();
    let other = Club {
        router: web::shared_router(&other, Hosts::new(&[]), Sharing::default()).unwrap(),
        door: other.door().unwrap(),
        app: other,
        folder: tempfile::tempdir().unwrap(),
    };
    let path = format!("/batch/{}", things.batch);
    assert_eq!(other.get(&ann, &path).await.status, 200);
    let (_, invitation) = ann.app.invite(Role::Read).await.unwrap();
    let rea = other.enter(&invitation, "rea").await;
    assert_eq!(club.get(&rea, &path).await.status, 200);
    ann.app.remove_member(rea.who.account).await.unwrap();
    assert_eq!(other.get(&rea, &path).await.status, 404);
    ann.app.sign_out_everywhere().await.unwrap();
    assert_eq!(other.get(&ann, &path).await.status, 303);
}
