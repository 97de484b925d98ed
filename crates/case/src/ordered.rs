//! JSON whose members keep the order in which they are written, so that the same case gives the same
//! bytes, and a person who opens the file finds things in a sensible order.
//!
//! Texts are borrowed and the items of long lists are made while they are written: a record with a
//! hundred thousand lots costs no second copy of them.

use serde::ser::{Serialize, SerializeMap as _, Serializer};
use serde_json::Value;
use std::borrow::Cow;

/// A value of JSON.
pub(crate) enum Json<'a> {
    Null,
    Truth(bool),
    Integer(i64),
    Count(u64),
    Number(f64),
    Text(Cow<'a, str>),
    /// What stands in a cell of a table.
    Cell(Value),
    List(Vec<Self>),
    /// A list whose items are made one after the other.
    Each(Items<'a>),
    Object(Vec<(&'static str, Self)>),
}

/// Makes the items of a list, each time that it is asked.
type Items<'a> = Box<dyn Fn() -> Box<dyn Iterator<Item = Json<'a>> + 'a> + 'a>;

/// An object with its members in order.
macro_rules! object {
    ($($key:literal: $value:expr),* $(,)?) => {
        $crate::ordered::Json::Object(vec![
            $(($key, $crate::ordered::Json::from($value))),*
        ])
    };
}
pub(crate) use object;

impl<'a> Json<'a> {
    /// A list with an item for each of `items`.
    pub fn each<T>(items: &'a [T], part: impl Fn(&'a T) -> Self + Copy + 'a) -> Self {
        Self::Each(Box::new(move || Box::new(items.iter().map(part))))
    }

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

impl Serialize for Json<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Null => serializer.serialize_unit(),
            Self::Truth(truth) => serializer.serialize_bool(*truth),
            Self::Integer(number) => serializer.serialize_i64(*number),
            Self::Count(number) => serializer.serialize_u64(*number),
            Self::Number(number) => serializer.serialize_f64(*number),
            Self::Text(text) => serializer.serialize_str(text),
            Self::Cell(value) => value.serialize(serializer),
            Self::List(items) => serializer.collect_seq(items),
            Self::Each(items) => serializer.collect_seq(items()),
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
            impl<'a> From<$type> for Json<'a> {
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
    &'a str => text Self::Text(text.into()),
    String => text Self::Text(text.into()),
    &'a String => text Self::Text(text.into()),
    &'a Vec<String> => texts Self::each(texts, Self::from),
}

impl<T: Into<Self>> From<Option<T>> for Json<'_> {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Null, Into::into)
    }
}

impl<T: Into<Self>> FromIterator<T> for Json<'_> {
    fn from_iter<I: IntoIterator<Item = T>>(items: I) -> Self {
        Self::List(items.into_iter().map(Into::into).collect())
    }
}
