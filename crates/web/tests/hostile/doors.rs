//! Every route of the router, whoever it belongs to: the headers of its answers, other
//! sites and other names, what an address may hold, how long a body may be.

use std::collections::BTreeSet;

use axum::Router;
use axum::http::HeaderMap;

use crate::house::{Answer, FORM, House, JSON, TOML};

const METHODS: [&str; 8] = [
    "GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE",
];
const CHANGING: [&str; 5] = ["POST", "PUT", "PATCH", "DELETE", "TRACE"];

/// The paths of all routes, as the router itself has them: a new one cannot be left out.
pub fn routes_of(router: &Router) -> Vec<String> {
    let shown = format!("{router:?}");
    let found: BTreeSet<String> = shown
        .split("RouteId(")
        .filter_map(|part| part.split_once("): \"/"))
        .filter(|(number, _)| number.chars().all(|c| c.is_ascii_digit()))
        .filter_map(|(_, rest)| rest.split_once('"'))
        .map(|(path, _)| format!("/{path}"))
        .filter(|path| !path.contains("__private"))
        .collect();
    found.into_iter().collect()
}

/// A path with what is there in the place of its names.
fn filled(path: &str, house: &House) -> String {
    let id = match path.split('/').nth(1).unwrap_or_default() {
        "waters" => &house.water,
        "brewhouses" => &house.brewhouse,
        "stores" => &house.stores,
        "tasting" => &house.tasting,
        _ if path.starts_with("/api/tastings") => &house.tasting,
        _ => &house.batch,
    };
    path.replace("{id}", id)
        .replace("{revision}", "1")
        .replace("{n}", "1")
        .replace("{place}", "1")
        .replace("{version}", &house.batch)
        .replace("/demo/{name}", "/demo/lantern-pale")
        .replace("/assets/{name}", "/assets/gyle.css")
        .replace("/schema/{name}", "/schema/batch")
        .replace("{name}", "course.svg")
        .replace("{key}", "none")
}

#[test]
fn the_list_of_routes_is_whole() {
    let runtime = tokio::runtime::Runtime::new().unwrap();
    let house = runtime.block_on(House::new());
    let found = routes_of(&house.router);
    assert!(found.len() > 130, "{found:#?}");
    for known in [
        "/",
        "/batch/{id}",
        "/everything.tar",
        "/assets/{name}",
        "/waters/{id}/edit",
        "/api/batches/{id}/edits",
        "/api/openapi.json",
    ] {
        assert!(
            found.iter().any(|path| path == known),
            "{known} among {found:#?}"
        );
    }
    // Every route that the sources name is among them.
    let mut named = 0;
    for file in sources(&std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("src/handlers")) {
        for part in file.split(".route(").skip(1) {
            let Some(path) = part
                .trim_start()
                .strip_prefix('"')
                .and_then(|p| p.split_once('"'))
            else {
                continue;
            };
            assert!(
                found.iter().any(|f| f == path.0),
                "{} among {found:#?}",
                path.0
            );
            named += 1;
        }
    }
    assert!(named > 50, "{named}");
}

fn sources(folder: &std::path::Path) -> Vec<String> {
    let mut all = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            all.extend(sources(&path));
        } else {
            all.push(std::fs::read_to_string(path).unwrap());
        }
    }
    all
}

#[tokio::test]
async fn every_answer_has_the_safety_headers() {
    let house = House::new().await;
    let mut fine = 0;
    for path in routes_of(&house.router) {
        for method in METHODS {
            for at in [filled(&path, &house), path.replace(['{', '}'], "")] {
                let answer = house.send(method, &at, FORM, "").await;
                let what = format!("{method} {at}: {}", answer.status);
                assert!(answer.status < 500, "{what}\n{}", answer.text());
                assert_safe(&what, &at, &answer);
                if method == "TRACE" {
                    assert!(matches!(answer.status, 404 | 405), "{what}");
                }
                fine += u32::from(answer.status == 200);
            }
        }
    }
    assert!(fine > 100, "only {fine} answers were pages");
    for at in ["/none", "/api/none", "//", "/batch/"] {
        let answer = house.get(at).await;
        assert_eq!(answer.status, 404, "{at}");
        assert_safe(at, at, &answer);
    }
}

fn assert_safe(what: &str, path: &str, answer: &Answer) {
    let is = |name: &str, value: &str| assert_eq!(answer.header(name), value, "{what}: {name}");
    is("x-content-type-options", "nosniff");
    is("x-frame-options", "DENY");
    is("referrer-policy", "same-origin");
    is("cross-origin-opener-policy", "same-origin");
    is("cross-origin-resource-policy", "same-origin");
    let asset = path.starts_with("/assets/") && answer.status == 200;
    is("cache-control", if asset { "no-cache" } else { "no-store" });
    for name in ["server", "x-powered-by", "access-control-allow-origin"] {
        is(name, "");
    }
    assert_policy(what, answer);
    for cookie in answer.headers.get_all("set-cookie") {
        let cookie = cookie.to_str().unwrap();
        assert!(
            cookie.contains("HttpOnly")
                && cookie.contains("SameSite=")
                && cookie.contains("Path=/"),
            "{what}: {cookie}"
        );
        assert!(!cookie.contains("SameSite=None"), "{what}: {cookie}");
    }
    let to = answer.header("location");
    let inside = to.starts_with('/') && !to.starts_with("//") && !to.contains('\\');
    assert!(to.is_empty() || inside, "{what} leads to {to}");
    if !answer.body.is_empty() {
        assert!(
            !answer.header("content-type").is_empty(),
            "{what}: of no type"
        );
        let kept = answer.header("content-disposition");
        assert!(
            kept.is_empty() || kept.starts_with("attachment; filename=\""),
            "{what}: {kept}"
        );
    }
}

/// Nothing from elsewhere and nothing inline; a report holds its own style and no script.
fn assert_policy(what: &str, answer: &Answer) {
    let policy = answer.header("content-security-policy");
    for part in [
        "default-src 'none'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    ] {
        assert!(policy.contains(part), "{what}: {policy}");
    }
    for part in [
        "unsafe-eval",
        "script-src 'unsafe-inline'",
        "http:",
        "https:",
        "*",
    ] {
        assert!(!policy.contains(part), "{what}: {policy}");
    }
    if policy.contains("unsafe-inline") {
        assert!(
            what.contains("/report") && !policy.contains("script-src"),
            "{what}: {policy}"
        );
    }
}

/// The same, for an answer as it came over the wire.
pub fn assert_safe_lines(answer: &str) {
    let head = answer.split("\r\n\r\n").next().unwrap().to_lowercase();
    for line in [
        "x-content-type-options: nosniff",
        "x-frame-options: deny",
        "referrer-policy: same-origin",
        "cache-control: no-store",
        "content-security-policy: default-src 'none'",
    ] {
        assert!(head.contains(line), "{line} in {head}");
    }
}

#[tokio::test]
async fn no_route_takes_a_change_from_another_site() {
    let house = House::new().await;
    let before = house.kept().await;
    let mut refused = 0;
    for path in routes_of(&house.router) {
        let at = filled(&path, &house);
        for method in CHANGING {
            for other in [
                ("origin", "http://other.example"),
                ("origin", "http://localhost.other.example"),
                ("origin", "http://localhost:9"),
                ("origin", "null"),
                ("origin", "localhost"),
                ("sec-fetch-site", "cross-site"),
                ("sec-fetch-site", "same-site"),
            ] {
                for kind in [FORM, JSON, TOML] {
                    let headers = [("host", "localhost"), other, ("content-type", kind)];
                    let answer = house.bare(method, &at, &headers, "name=x").await;
                    assert_eq!(answer.status, 403, "{method} {at} {other:?}");
                    refused += 1;
                }
            }
        }
    }
    assert!(refused > 10_000, "{refused}");
    assert_eq!(house.kept().await, before);
}

#[tokio::test]
async fn no_route_answers_to_another_name() {
    let house = House::new().await;
    for path in routes_of(&house.router) {
        let at = filled(&path, &house);
        for method in METHODS {
            for host in [
                "rebound.example",
                "localhost.rebound.example",
                "127.0.0.1.rebound.example:4180",
                "localhost@rebound.example",
                "localhost, rebound.example",
                "10.0.0.1",
                "[::2]",
                "",
            ] {
                // A name that a proxy passes on is not the name that was asked for.
                let headers = [
                    ("host", host),
                    ("x-forwarded-host", "localhost"),
                    ("forwarded", "host=localhost"),
                ];
                let answer = house.bare(method, &at, &headers, "").await;
                assert_eq!(answer.status, 421, "{method} {at} {host}");
            }
            assert_eq!(
                house.bare(method, &at, &[], "").await.status,
                421,
                "{method} {at}"
            );
        }
    }
}

#[tokio::test]
async fn an_address_is_a_name_and_no_path() {
    let house = House::new().await;
    let long = "a".repeat(8_000);
    let odd = [
        "..%2f..%2f..%2f..%2fetc%2fpasswd",
        "%2e%2e%2fgyle.css",
        "..%5c..%5cwindows",
        "%00",
        "store.db%00.svg",
        "%FF",
        "-1",
        "0",
        "4294967296",
        "99999999999999999999999",
        "NaN",
        "%27%20or%201=1--",
        "%3Cx-h%20onclick=1%3E",
        "%7B%7B7*7%7D%7D",
        "%E2%80%AE",
        "CON",
        &long,
    ];
    for path in routes_of(&house.router) {
        let names: Vec<String> = path
            .split('/')
            .filter(|s| s.starts_with('{'))
            .map(str::to_owned)
            .collect();
        for name in names {
            // Some names are looked at only after a long reckoning: a few do there.
            let long = [
                "/steer",
                "/certainty",
                "/minerals",
                "/batch/{id}/waters",
                "/course",
            ];
            let many = if long.iter().any(|part| path.contains(part)) {
                2
            } else {
                odd.len()
            };
            for odd in odd.iter().take(many) {
                let at = filled(&path.replacen(&name, odd, 1), &house);
                let answer = house.get(&at).await;
                // What is not known any more may lead back to where it was asked for.
                let back = answer.status == 303 && answer.header("location").starts_with("/batch/");
                assert!(
                    back || (400..500).contains(&answer.status),
                    "{at}: {}",
                    answer.status
                );
                let text = answer.text();
                let page = answer.header("content-type").contains("html");
                let odd = text.contains("root:") || page && text.contains("<x-h");
                assert!(!odd, "{at}: {text}");
            }
        }
    }
}

#[tokio::test]
async fn no_route_takes_a_body_without_end() {
    let house = House::new().await;
    let long = axum::body::Bytes::from(vec![b'a'; 13 << 20]);
    let mut too_large = 0;
    for path in routes_of(&house.router) {
        let at = filled(&path, &house);
        for kind in [FORM, JSON, TOML, "multipart/form-data; boundary=a"] {
            for method in ["POST", "PUT"] {
                let answer = house.send(method, &at, kind, long.clone()).await;
                // What takes no body at all may do its work and leave it unread.
                assert!(
                    answer.status < 500 && answer.status != 200,
                    "{method} {at} {kind}: {}",
                    answer.status
                );
                too_large += u32::from(answer.status == 413);
            }
        }
    }
    assert!(too_large > 50, "{too_large}");
}

#[tokio::test]
async fn units_lead_to_a_page_of_this_server() {
    let house = House::new().await;
    for away in [
        "//other.example",
        "/\\other.example",
        "/\t/other.example",
        "https://other.example",
        "javascript:alert(1)",
    ] {
        let answer = house
            .form("/units", &[("units", b"us"), ("back", away.as_bytes())])
            .await;
        assert_eq!(
            (answer.status, answer.header("location")),
            (303, "/"),
            "{away}"
        );
    }
    let back = house
        .form(
            "/units",
            &[("units", b"<x-h>"), ("back", b"/measure?tool=keg")],
        )
        .await;
    assert_eq!(back.header("location"), "/measure?tool=keg");
    assert!(back.header("set-cookie").starts_with("gyle_units=metric;"));
}

/// Headers of an answer, for whoever needs them by name.
pub fn kind_of(headers: &HeaderMap) -> &str {
    headers
        .get("content-type")
        .map_or("", |v| v.to_str().unwrap())
}
