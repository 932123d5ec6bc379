//! Two answers against each other.

use serde_json::Value;

/// What rounding may change, relative to the number: what is told has nine digits.
const ROUNDING: f64 = 1e-7;
/// Numbers below this are nought.
const NOUGHT: f64 = 1e-9;

/// Where two values of JSON differ by more than rounding, place by place.
#[must_use]
pub fn differences(one: &Value, other: &Value) -> Vec<String> {
    let mut found = Vec::new();
    compare("", one, other, &mut found);
    found
}

fn compare(place: &str, one: &Value, other: &Value, found: &mut Vec<String>) {
    match (one, other) {
        (Value::Object(a), Value::Object(b)) => {
            let keys: std::collections::BTreeSet<&String> = a.keys().chain(b.keys()).collect();
            for key in keys {
                let of = |map: &serde_json::Map<String, Value>| {
                    map.get(key).cloned().unwrap_or(Value::Null)
                };
                compare(&format!("{place}/{key}"), &of(a), &of(b), found);
            }
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            for (at, (x, y)) in a.iter().zip(b).enumerate() {
                compare(&format!("{place}/{at}"), x, y, found);
            }
        }
        (Value::Number(x), Value::Number(y)) if alike(x.as_f64(), y.as_f64()) => {}
        _ if one == other => {}
        _ => found.push(format!("{place}: {one} and {other}")),
    }
}

fn alike(x: Option<f64>, y: Option<f64>) -> bool {
    let (Some(x), Some(y)) = (x, y) else {
        return false;
    };
    (x - y).abs() <= ROUNDING * x.abs().max(y.abs()) + NOUGHT
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn only_rounding_is_forgiven() {
        let one = json!({"a": [1.0, 0.123456789], "b": "x"});
        assert!(differences(&one, &json!({"a": [1.0, 0.12345679], "b": "x"})).is_empty());
        for other in [
            json!({"a": [1.0, 0.1235], "b": "x"}),
            json!({"a": [1.0], "b": "x"}),
            json!({"a": [1.0, 0.123456789]}),
            json!({"a": [1.0, 0.123456789], "b": "x", "c": 1}),
            json!({"a": [1.000001, 0.123456789], "b": "x"}),
        ] {
            assert_eq!(differences(&one, &other).len(), 1, "{other}");
        }
    }
}
