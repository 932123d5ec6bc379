//! JSON as it is taken in: no member twice, no depth that no file of the standard has.

use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, Error as _, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};

use crate::ReadError;
use crate::read::MAX_BYTES;

/// The standard nests some ten levels.
const DEEPEST: usize = 32;

/// Reads a text.
pub(crate) fn parse(text: &str) -> Result<Value, ReadError> {
    if text.len() > MAX_BYTES {
        return Err(ReadError::TooLarge { bytes: text.len() });
    }
    let text = text.trim_start_matches('\u{feff}');
    let mut reader = serde_json::Deserializer::from_str(text);
    let node = Node {
        pointer: String::new(),
        depth: 0,
    };
    node.deserialize(&mut reader)
        .and_then(|value| reader.end().map(|()| value))
        .map_err(|error| ReadError::NotJson {
            line: error.line(),
            column: error.column(),
            message: plain(&error.to_string()),
        })
}

/// The message without the place, which stands before it.
fn plain(message: &str) -> String {
    let message = message.split(" at line ").next().unwrap_or(message);
    if message.contains("; ") {
        message.to_owned()
    } else {
        format!("{message}; well-formed JSON would work")
    }
}

/// A member's name in a JSON pointer (RFC 6901).
pub(crate) fn escaped(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}

struct Node {
    pointer: String,
    depth: usize,
}

impl Node {
    fn below<E: serde::de::Error>(&self, key: &str) -> Result<Self, E> {
        if self.depth >= DEEPEST {
            let at = &self.pointer;
            return Err(E::custom(format!(
                "{at} lies more than {DEEPEST} levels deep; the standard needs some ten"
            )));
        }
        Ok(Self {
            pointer: format!("{}/{}", self.pointer, escaped(key)),
            depth: self.depth + 1,
        })
    }
}

impl<'de> DeserializeSeed<'de> for Node {
    type Value = Value;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Node {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("JSON")
    }

    fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
        Ok(Value::Bool(value))
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(Value::Number(value.into()))
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(Value::Number(value.into()))
    }

    fn visit_f64<E>(self, value: f64) -> Result<Value, E> {
        Ok(Number::from_f64(value).map_or(Value::Null, Value::Number))
    }

    fn visit_str<E>(self, value: &str) -> Result<Value, E> {
        Ok(Value::String(value.to_owned()))
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<Value, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = access.next_element_seed(self.below(&items.len().to_string())?)? {
            items.push(item);
        }
        Ok(Value::Array(items))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Value, A::Error> {
        let mut members = Map::new();
        while let Some(key) = access.next_key::<String>()? {
            let below = self.below(&key)?;
            if members.contains_key(&key) {
                let at = &below.pointer;
                return Err(A::Error::custom(format!(
                    "{at} is there twice; keep one of them"
                )));
            }
            let value = access.next_value_seed(below)?;
            members.insert(key, value);
        }
        Ok(Value::Object(members))
    }
}
