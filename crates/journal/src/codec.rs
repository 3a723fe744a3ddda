//! How heads and version vectors lie in the `doc` table, and values in the `observation` table.

use std::{collections::BTreeMap, fmt};

use ligule_observation::{
    record::{Measured, Value},
    version::{ChangeHash, VersionVector},
};
use serde::{
    Deserialize, Deserializer, Serialize, Serializer,
    de::{Error, MapAccess, SeqAccess, Visitor, value::MapAccessDeserializer},
};

/// Values: a JSON object of the value by measure, or of value and entered text in a list; every observation bears one, so
/// it is short. Journals of schema 1 have an object with `value` and `entered`.
pub(crate) fn values_to_text(values: &BTreeMap<String, Measured>) -> String {
    let short: BTreeMap<&str, Short<'_>> = values.iter().map(|(name, one)| (name.as_str(), Short(one))).collect();
    serde_json::to_string(&short).expect("values are plain data")
}

pub(crate) fn values_from_text(text: &str) -> Option<BTreeMap<String, Measured>> {
    let read: BTreeMap<String, Read> = serde_json::from_str(text).ok()?;
    Some(read.into_iter().map(|(name, one)| (name, one.0)).collect())
}

struct Short<'a>(&'a Measured);

impl Serialize for Short<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match &self.0.entered {
            None => self.0.value.serialize(serializer),
            Some(entered) => (&self.0.value, entered).serialize(serializer),
        }
    }
}

struct Read(Measured);

impl<'de> Deserialize<'de> for Read {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(AnyOf)
    }
}

struct AnyOf;

impl<'de> Visitor<'de> for AnyOf {
    type Value = Read;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value, or a value and the text it was entered as")
    }

    fn visit_i64<E: Error>(self, n: i64) -> Result<Read, E> {
        Ok(Read(Measured { value: Value::Int(n), entered: None }))
    }

    fn visit_u64<E: Error>(self, n: u64) -> Result<Read, E> {
        i64::try_from(n).map_err(E::custom).and_then(|n| self.visit_i64(n))
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<Read, E> {
        Ok(Read(Measured { value: Value::Text(text.to_owned()), entered: None }))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Read, A::Error> {
        let missing = |n| A::Error::invalid_length(n, &self);
        let value = list.next_element()?.ok_or_else(|| missing(0))?;
        let entered = list.next_element()?.ok_or_else(|| missing(1))?;
        Ok(Read(Measured { value, entered: Some(entered) }))
    }

    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Read, A::Error> {
        Measured::deserialize(MapAccessDeserializer::new(map)).map(Read)
    }
}

/// Heads: 32 bytes each, sorted.
pub(crate) fn heads_to_bytes(heads: &[ChangeHash]) -> Vec<u8> {
    heads.concat()
}

pub(crate) fn heads_from_bytes(bytes: &[u8]) -> Option<Vec<ChangeHash>> {
    bytes.len().is_multiple_of(32).then(|| bytes.chunks_exact(32).map(|c| c.try_into().expect("32 bytes")).collect())
}

/// Version vector: for each actor one byte of length, the actor, the sequence number in 8 bytes, big end first.
pub(crate) fn vector_to_bytes(vector: &VersionVector) -> Vec<u8> {
    let mut out = Vec::with_capacity(vector.len() * 25);
    for (actor, seq) in vector {
        out.push(u8::try_from(actor.len()).unwrap_or(u8::MAX));
        out.extend_from_slice(&actor[..actor.len().min(255)]);
        out.extend_from_slice(&seq.to_be_bytes());
    }
    out
}

pub(crate) fn vector_from_bytes(mut bytes: &[u8]) -> Option<VersionVector> {
    let mut out = VersionVector::new();
    while let Some((length, rest)) = bytes.split_first() {
        let (actor, rest) = rest.split_at_checked(usize::from(*length))?;
        let (seq, rest) = rest.split_at_checked(8)?;
        out.insert(actor.to_vec(), u64::from_be_bytes(seq.try_into().ok()?));
        bytes = rest;
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn vectors_survive_the_table() {
        let vector: VersionVector = [(vec![1; 16], 7), (vec![2; 3], u64::MAX), (vec![], 0)].into();
        assert_eq!(vector_from_bytes(&vector_to_bytes(&vector)), Some(vector.clone()));
        let bytes = vector_to_bytes(&vector);
        assert_eq!(vector_from_bytes(&bytes[..bytes.len() - 1]), None);
    }
    #[test]
    fn values_survive_the_table() {
        let one = |value, entered: Option<&str>| Measured { value, entered: entered.map(str::to_owned) };
        let values: BTreeMap<String, Measured> = [
            ("count".to_owned(), one(Value::Int(i64::MIN), None)),
            ("width".to_owned(), one(Value::Int(30_000), Some("30in"))),
            ("note".to_owned(), one(Value::Text("\"wet\", [0]".into()), None)),
            ("code".to_owned(), one(Value::Text(String::new()), Some(""))),
        ]
        .into();
        let text = values_to_text(&values);
        assert_eq!(
            text,
            r#"{"code":["",""],"count":-9223372036854775808,"note":"\"wet\", [0]","width":[30000,"30in"]}"#
        );
        assert_eq!(values_from_text(&text), Some(values.clone()));
        // As schema 1 wrote them.
        assert_eq!(values_from_text(&serde_json::to_string(&values).expect("plain data")), Some(values));
        for bad in ["", "[]", r#"{"a":1.5}"#, r#"{"a":[1]}"#, r#"{"a":{}}"#, r#"{"a":true}"#] {
            assert_eq!(values_from_text(bad), None, "{bad}");
        }
    }
}
