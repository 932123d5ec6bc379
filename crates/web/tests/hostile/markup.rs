//! A page taken apart: its elements with their attributes, and where its links lead.

use std::collections::BTreeSet;

/// An element and the names of its attributes.
pub type Shape = (String, BTreeSet<String>);

/// What a page is made of.
#[derive(Debug, Default)]
pub struct Parts {
    pub shapes: BTreeSet<Shape>,
    /// Element, attribute and value, for attributes that hold addresses.
    pub addresses: Vec<(String, String)>,
}

const ADDRESSES: [&str; 8] = [
    "href",
    "src",
    "action",
    "formaction",
    "data",
    "poster",
    "hx-get",
    "hx-post",
];

/// Takes HTML or SVG apart as a browser would see its tags.
pub fn parts(text: &str) -> Parts {
    let mut parts = Parts::default();
    let mut rest = text;
    while let Some(at) = rest.find('<') {
        rest = &rest[at + 1..];
        if !rest.starts_with(|c: char| c.is_ascii_alphabetic()) {
            continue;
        }
        let end = rest
            .find(|c: char| c.is_whitespace() || c == '>' || c == '/')
            .unwrap_or(rest.len());
        let element = rest[..end].to_lowercase();
        rest = &rest[end..];
        let mut attributes = BTreeSet::new();
        loop {
            rest = rest.trim_start_matches(|c: char| c.is_whitespace() || c == '/');
            let Some(first) = rest.chars().next() else {
                break;
            };
            if first == '>' {
                break;
            }
            let end = rest
                .find(|c: char| c.is_whitespace() || matches!(c, '=' | '>' | '/'))
                .unwrap_or(rest.len());
            let name = rest[..end.max(first.len_utf8())].to_lowercase();
            rest = &rest[end.max(first.len_utf8())..];
            let mut value = "";
            if let Some(after) = rest.trim_start().strip_prefix('=') {
                let after = after.trim_start();
                let (found, left) = match after.chars().next() {
                    Some(quote @ ('"' | '\'')) => {
                        after[1..].split_once(quote).unwrap_or((&after[1..], ""))
                    }
                    _ => after.split_at(
                        after
                            .find(|c: char| c.is_whitespace() || c == '>')
                            .unwrap_or(after.len()),
                    ),
                };
                (value, rest) = (found, left);
            }
            if ADDRESSES.contains(&name.as_str()) {
                parts.addresses.push((
                    element.clone(),
                    value.replace("&amp;", "&").replace("&quot;", "\""),
                ));
            }
            attributes.insert(name);
        }
        parts.shapes.insert((element.clone(), attributes));
        // What stands in these is text up to their own end.
        if ["script", "style", "textarea", "title"].contains(&element.as_str())
            && let Some(end) = rest.to_lowercase().find(&format!("</{element}"))
        {
            rest = rest.get(end..).unwrap_or("");
        }
    }
    parts
}

#[test]
fn what_broke_out_is_seen() {
    let tame =
        parts("<p class=\"a\">x &lt;b onclick=1&gt;</p><a href='/x'>y</a><textarea><b></textarea>");
    assert_eq!(tame.shapes.len(), 3, "{:?}", tame.shapes);
    assert_eq!(tame.addresses, [("a".to_owned(), "/x".to_owned())]);
    let wild = parts("<p class=\"a\" onclick=alert(1) \"></p><x-h><a href=javascript:alert(1)>");
    assert!(
        wild.shapes
            .iter()
            .any(|(_, names)| names.contains("onclick"))
    );
    assert!(wild.shapes.iter().any(|(element, _)| element == "x-h"));
    assert_eq!(wild.addresses[0].1, "javascript:alert(1)");
    let out = parts("<textarea></textarea><script>x</script>");
    assert!(out.shapes.iter().any(|(element, _)| element == "script"));
}
