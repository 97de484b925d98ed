//! Why something is not done or not known, for the person who asked for it.

use std::fmt;
use std::ops::Deref;

/// A sentence that says why something is not done or not known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Why(String);

impl Deref for Why {
    type Target = str;

    fn deref(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Why {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.0)
    }
}

impl From<String> for Why {
    fn from(sentence: String) -> Self {
        Self(sentence)
    }
}

impl From<&str> for Why {
    fn from(sentence: &str) -> Self {
        Self(sentence.to_owned())
    }
}

impl From<Why> for String {
    fn from(why: Why) -> Self {
        why.0
    }
}

/// What an error of another crate says.
macro_rules! said_by {
    ($($error:ty),+) => {
        $(impl From<$error> for Why {
            fn from(cause: $error) -> Self {
                Self(cause.to_string())
            }
        })+
    };
}

said_by!(
    archive::Error,
    case::Error,
    daybook::Error,
    paper::Error,
    review::Error,
    review::Refusal,
    signers::Error,
    ingest::Error,
    plant::Error
);
