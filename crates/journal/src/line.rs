//! One line: what somebody entered, chained to the line before. Its bytes are the canonical JSON
//! of RFC 8785, so that the same entry has one spelling and a line can be checked byte by byte.

use crate::damage::Damage;
use crate::digest::{Digest, Sign, Signature};
use crate::stamp::Stamp;
use serde_json::{Map, Value};

/// What an entry says: a JSON object whose `kind` names the rest.
pub type Body = Map<String, Value>;

/// The kind of the body that corrects a clock: a signed line of that kind, and no other, may be dated
/// any time before the lines above it.
pub const CLOCK_CORRECTED: &str = "clock_corrected";

/// An entry that is to be written.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// When it is made.
    pub at: Stamp,
    /// Who makes it.
    pub by: String,
    /// What it says.
    pub body: Body,
}

/// An entry in its place in a chain.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    entry: Entry,
    sequence: u64,
    previous: Digest,
    signature: Option<Signature>,
    digest: Digest,
}

impl Line {
    /// Puts an entry in its place; gives the line and its bytes with the line feed.
    pub(crate) fn new(
        entry: Entry,
        sequence: u64,
        previous: Digest,
        sign: Option<Sign<'_>>,
    ) -> (Self, Vec<u8>) {
        let mut object = bare(&entry, sequence, previous);
        let signed = canonical(&object);
        let signature = sign.map(|sign| sign(&signed));
        match signature {
            Some(signature) => object.insert("signature".into(), signature.to_string().into()),
            None => object.insert("sum".into(), Digest::of(&signed).to_string().into()),
        };
        let mut bytes = canonical(&object);
        bytes.push(b'\n');
        let digest = Digest::of(&bytes);
        (Self { entry, sequence, previous, signature, digest }, bytes)
    }

    /// Reads the bytes of one line, without its line feed.
    ///
    /// # Errors
    /// What is wrong with the line.
    pub(crate) fn parse(bytes: &[u8]) -> Result<Self, Damage> {
        let value: Value =
            serde_json::from_slice(bytes).map_err(|cause| Damage::NotJson(cause.to_string()))?;
        let Value::Object(mut object) = value else { return Err(Damage::NotAnObject) };
        if canonical(&object) != bytes {
            return Err(Damage::NotCanonical);
        }
        let mut take = |name: &str| object.remove(name);
        let text = |name: &'static str, value: Option<Value>| match value {
            Some(Value::String(text)) => Ok(text),
            _ => Err(Damage::Missing(name)),
        };
        let at = text("at", take("at"))?.parse::<Stamp>()?;
        let by = text("by", take("by"))?;
        let Some(Value::Object(body)) = take("body") else {
            return Err(Damage::Missing("body"));
        };
        let previous = text("previous", take("previous"))?.parse::<Digest>()?;
        let sequence =
            take("sequence").and_then(|value| value.as_u64()).ok_or(Damage::Missing("sequence"))?;
        let signature = match take("signature") {
            None => None,
            Some(value) => Some(text("signature", Some(value))?.parse::<Signature>()?),
        };
        let sum = match take("sum") {
            None => None,
            Some(value) => Some(text("sum", Some(value))?.parse::<Digest>()?),
        };
        if let Some(name) = object.keys().next() {
            return Err(Damage::Unknown(name.clone()));
        }
        let mut whole = bytes.to_vec();
        whole.push(b'\n');
        let line = Self {
            entry: Entry { at, by, body },
            sequence,
            previous,
            signature,
            digest: Digest::of(&whole),
        };
        match (signature, sum) {
            (Some(_), None) => Ok(line),
            (None, Some(sum)) if Digest::of(&line.signed_bytes()) == sum => Ok(line),
            (None, Some(_)) => Err(Damage::Sum),
            _ => Err(Damage::SignatureOrSum),
        }
    }

    /// Its place, from 1.
    pub const fn sequence(&self) -> u64 {
        self.sequence
    }

    /// When it was made, by the clock of who made it.
    pub const fn at(&self) -> Stamp {
        self.entry.at
    }

    /// Who made it.
    pub fn by(&self) -> &str {
        &self.entry.by
    }

    /// What it says.
    pub const fn body(&self) -> &Body {
        &self.entry.body
    }

    /// The digest of the line before.
    pub const fn previous(&self) -> Digest {
        self.previous
    }

    /// The digest of the line itself, its line feed included.
    pub const fn digest(&self) -> Digest {
        self.digest
    }

    /// The signature, not checked; `None` for an entry that was not signed.
    pub const fn signature(&self) -> Option<Signature> {
        self.signature
    }

    /// Whether it says that the clock ran ahead before it. Whoever replays the chain decides whether
    /// the person might say so.
    pub fn corrects_clock(&self) -> bool {
        self.signature.is_some()
            && self.entry.body.get("kind").and_then(Value::as_str) == Some(CLOCK_CORRECTED)
    }

    /// What a signature covers: the line without signature and without line feed.
    pub fn signed_bytes(&self) -> Vec<u8> {
        canonical(&bare(&self.entry, self.sequence, self.previous))
    }
}

fn bare(entry: &Entry, sequence: u64, previous: Digest) -> Body {
    let Entry { at, by, body } = entry;
    let mut object = Body::new();
    object.insert("at".into(), at.to_string().into());
    object.insert("body".into(), Value::Object(body.clone()));
    object.insert("by".into(), by.as_str().into());
    object.insert("previous".into(), previous.to_string().into());
    object.insert("sequence".into(), sequence.into());
    object
}

/// The canonical form of RFC 8785.
#[expect(clippy::expect_used, reason = "a JSON value in memory has no cause to fail")]
fn canonical(object: &Body) -> Vec<u8> {
    serde_json_canonicalizer::to_vec(object).expect("a JSON value can be written")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 8785, sections 3.2.2 and 3.2.3: the sample input and its canonical form as printed.
    #[test]
    fn the_sample_of_rfc_8785() {
        let input = r#"{
            "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
            "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
            "literals": [null, true, false]
        }"#;
        let output = concat!(
            r#"{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"#,
            r#""string":"€$\u000f\nA'B\"\\\\\"/"}"#
        );
        let Ok(object) = serde_json::from_str(input) else { panic!("the input is JSON") };
        assert_eq!(String::from_utf8_lossy(&canonical(&object)), output);
    }

    /// RFC 8785, section 3.2.3: names are sorted by their UTF-16 code units.
    #[test]
    fn the_order_of_names_of_rfc_8785() {
        let input = r#"{"\u20ac": "Euro Sign", "\r": "Carriage Return", "\ufb33": "Hebrew Letter Dalet With Dagesh", "1": "One", "\ud83d\ude00": "Emoji: Grinning Face", "\u0080": "Control", "\u00f6": "Latin Small Letter O With Diaeresis"}"#;
        let order = [
            "Carriage Return",
            "One",
            "Control",
            "Latin Small Letter O With Diaeresis",
            "Euro Sign",
            "Emoji: Grinning Face",
            "Hebrew Letter Dalet With Dagesh",
        ];
        let Ok(object) = serde_json::from_str(input) else { panic!("the input is JSON") };
        let text = String::from_utf8_lossy(&canonical(&object)).into_owned();
        let places: Vec<_> = order.iter().map(|name| text.find(name)).collect();
        assert!(places.iter().all(Option::is_some), "{text}");
        assert!(places.is_sorted(), "{text}");
    }
}
