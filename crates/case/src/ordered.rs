//! JSON whose members keep the order in which they are written, so that the same case gives the same
//! bytes, and a person who opens the file finds things in a sensible order.

use serde::ser::{Serialize, SerializeMap as _, Serializer};

/// A value of JSON.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Json {
    Null,
    Truth(bool),
    Integer(i64),
    Count(u64),
    Number(f64),
    Text(String),
    List(Vec<Self>),
    Object(Vec<(&'static str, Self)>),
}

/// An object with its members in order.
macro_rules! object {
    ($($key:literal: $value:expr),* $(,)?) => {
        $crate::ordered::Json::Object(vec![
            $(($key, $crate::ordered::Json::from($value))),*
        ])
    };
}
pub(crate) use object;

impl Json {
    /// Takes members of an object away.
    pub fn without(&mut self, keys: &[&str]) {
        if let Self::Object(members) = self {
            members.retain(|(key, _)| !keys.contains(key));
        }
    }

    /// The member of an object.
    pub fn member(&mut self, key: &str) -> Option<&mut Self> {
        match self {
            Self::Object(members) => {
                members.iter_mut().find(|one| one.0 == key).map(|one| &mut one.1)
            }
            _ => None,
        }
    }
}

impl Serialize for Json {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Null => serializer.serialize_unit(),
            Self::Truth(truth) => serializer.serialize_bool(*truth),
            Self::Integer(number) => serializer.serialize_i64(*number),
            Self::Count(number) => serializer.serialize_u64(*number),
            Self::Number(number) => serializer.serialize_f64(*number),
            Self::Text(text) => serializer.serialize_str(text),
            Self::List(items) => serializer.collect_seq(items),
            Self::Object(members) => {
                let mut map = serializer.serialize_map(Some(members.len()))?;
                for (key, value) in members {
                    map.serialize_entry(key, value)?;
                }
                map.end()
            }
        }
    }
}

/// From a type, by the variant that holds it.
macro_rules! from {
    ($($type:ty => $value:ident $json:expr,)*) => {
        $(
            impl From<$type> for Json {
                fn from($value: $type) -> Self {
                    $json
                }
            }
        )*
    };
}

from! {
    bool => truth Self::Truth(truth),
    i64 => number Self::Integer(number),
    u32 => number Self::Count(number.into()),
    u64 => number Self::Count(number),
    usize => number Self::Count(number as u64),
    f64 => number Self::Number(number),
    &str => text Self::Text(text.to_owned()),
    String => text Self::Text(text),
    &String => text Self::Text(text.clone()),
    &[String] => texts texts.iter().collect(),
    &Vec<String> => texts texts.iter().collect(),
}

impl<T: Into<Self>> From<Option<T>> for Json {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Null, Into::into)
    }
}

impl<T: Into<Self>> FromIterator<T> for Json {
    fn from_iter<I: IntoIterator<Item = T>>(items: I) -> Self {
        Self::List(items.into_iter().map(Into::into).collect())
    }
}
