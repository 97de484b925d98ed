//! What people enter: the bodies of a review journal's lines, described in `docs/review.md`.

use crate::ending::Ending;
use crate::hole::HoleBefore;
use crate::subject::{ExceptionItem, Subject};
use journal::Body;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use signers::{Act, Meaning, Role};
use std::fmt;

/// The key of the disposition that puts product on hold.
pub const HELD: &str = "held";

const KIND: &str = "kind";
const SIGNED: &str = "signed";
const REGISTER: &str = "register";
/// The words that say that product is kept back.
const HOLD_WORDS: [&str; 2] = [HELD, "hold"];
/// What the disposition that lets product go is called by, in lower case.
const RELEASE: &str = "release";

/// One entry of a review.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum Decision {
    /// The review begins.
    Opened {
        /// What is reviewed.
        subject: Subject,
    },
    /// The record was audited again: by another program, or against another plant file.
    ReAudited {
        /// What is reviewed from here on.
        subject: Subject,
    },
    /// An exception is resolved.
    Settled(Settlement),
    /// Exceptions that belong together are resolved with one line.
    SettledTogether(Together),
    /// A resolution, a closing, an acknowledgement or an entry is taken back.
    Withdrawn {
        /// What `item` names.
        of: ItemKind,
        /// An exception's, a divert's or an observation's id, a hole's end, an observation's kind or an entry's
        /// item.
        item: String,
    },
    /// A supervisor wants an exception looked at again.
    SentBack {
        /// The exception's id.
        exception: String,
        /// What is wrong.
        remark: String,
    },
    /// An observation was looked into, and there is a reason why nothing is left to do about it.
    Closed {
        /// The observation's id.
        observation: String,
        /// Why nothing is left to do; never blank.
        reason: String,
        /// What else there is to say.
        note: String,
    },
    /// The hole before the record was looked into, and there is a reason why nothing is left to do
    /// about it.
    HoleClosed {
        /// Which hole.
        hole: HoleBefore,
        /// Why nothing is left to do; never blank.
        reason: String,
        /// What else there is to say.
        note: String,
    },
    /// Why the device left forward flow, as somebody who was there knows it.
    DivertExplained {
        /// The divert's id.
        divert: String,
        /// The reason; never blank.
        reason: String,
        /// What else there is to say.
        note: String,
    },
    /// All observations of one kind were looked at.
    Acknowledged {
        /// The kind's key.
        observation: String,
        /// What there is to say.
        note: String,
    },
    /// A seal that was broken while the record ran, or before, was looked into.
    SealNoted {
        /// Its number.
        seal: String,
        /// What it means for this record; never blank.
        reason: String,
    },
    /// Product is on hold no longer.
    HoldEnded(Ending),
    /// An item of the plant's list that no sensor can give.
    Entered {
        /// The item.
        entry: String,
        /// What is entered.
        value: String,
        /// What there is to say.
        note: String,
    },
    /// A signature; the line itself is signed.
    Signed {
        /// What it means.
        meaning: Meaning,
        /// What it covers.
        scope: Scope,
        /// The signer's printed name.
        name: String,
        /// The signer's role.
        role: Role,
        /// The digest of the last line of the signers' register, hexadecimal.
        register: String,
    },
    /// What was signed is opened again.
    Reopened {
        /// What is opened.
        scope: Scope,
        /// Why.
        reason: String,
    },
    /// A clock was ahead before this line, which may be dated before those above it.
    ClockCorrected {
        /// What happened.
        reason: String,
    },
}

/// What can be taken back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ItemKind {
    /// The resolution of an exception.
    Exception,
    /// The closing of an observation.
    ClosedObservation,
    /// The closing of the hole before the record, named by its end.
    Hole,
    /// The reason of a divert.
    Divert,
    /// The acknowledgement of a kind of observations.
    Observation,
    /// An entry of the plant's list.
    Entry,
    /// The end of a hold, by the hold's name: the product is on hold again.
    HoldEnd,
    /// What was said of a broken seal, by its number.
    Seal,
}

/// Exceptions that belong together, by their number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bundle {
    /// The exceptions of an episode.
    Episode(usize),
    /// The exceptions of a cleaning, outside production.
    Cleaning(usize),
}

impl Bundle {
    /// Whether an exception is one of it.
    pub fn holds(self, item: &ExceptionItem) -> bool {
        match self {
            Self::Episode(number) => item.episode == number,
            Self::Cleaning(number) => item.cleaning == Some(number),
        }
    }
}

impl fmt::Display for Bundle {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Episode(number) => write!(formatter, "episode {number}"),
            Self::Cleaning(number) => write!(formatter, "cleaning {number}"),
        }
    }
}

/// The parts of a corrective action that cause and action do not tell (21 CFR 117.150, not verified): the
/// process was under control again, it will not happen again, and no unsafe product went out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, Default)]
#[serde(deny_unknown_fields)]
pub struct Correction {
    /// Since when it was under control again, and what shows that.
    pub under_control: String,
    /// What keeps it from happening again.
    pub recurrence: String,
    /// Why no unsafe product went out.
    pub product: String,
}

impl Correction {
    /// The parts with their names for a person.
    pub fn parts(&self) -> [(&'static str, &str); 3] {
        [
            ("Under control again", &self.under_control),
            ("Recurrence prevented by", &self.recurrence),
            ("No unsafe product went out", &self.product),
        ]
    }

    /// The first of what is blank, in words; `None` when nothing is.
    fn missing(&self) -> Option<&'static str> {
        let words = [
            "since when it was under control again",
            "what prevents it from happening again",
            "why no unsafe product went out",
        ];
        let parts = self.parts().into_iter().zip(words);
        parts.into_iter().find(|((_, text), _)| text.trim().is_empty()).map(|(_, words)| words)
    }
}

/// What was decided about exceptions that belong together: once, for all that are named.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Together {
    /// What they are part of.
    pub of: Bundle,
    /// The exceptions' ids: all of it, or those that were still open.
    pub exceptions: Vec<String>,
    /// Why it happened.
    pub cause: String,
    /// What was done.
    pub action: String,
    /// The further parts of the corrective action, where the plant asks for them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub correction: Option<Correction>,
    /// What becomes of the product.
    pub disposition: String,
    /// Why, where the disposition asks for a reason.
    pub disposition_reason: String,
    /// How much product, with its unit, the same for each; blank: what the audit found of each.
    pub quantity: String,
    /// Which lot, the same for each; blank: what the audit found of each.
    pub lot: String,
    /// The tag on what is put on hold; blank for another disposition.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub hold_tag: String,
    /// The tank that it is in; blank where it is not put on hold or nobody said.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub tank: String,
    /// What else there is to say.
    pub note: String,
}

impl Together {
    /// What it says of one of the exceptions.
    pub fn settlement(&self, item: &ExceptionItem) -> Settlement {
        let given = |text: &String, found: String| match text.trim() {
            "" => found,
            _ => text.clone(),
        };
        Settlement {
            exception: item.id.clone(),
            cause: self.cause.clone(),
            action: self.action.clone(),
            correction: self.correction.clone(),
            disposition: self.disposition.clone(),
            disposition_reason: self.disposition_reason.clone(),
            quantity: given(&self.quantity, item.quantity.clone().unwrap_or_default()),
            lot: given(&self.lot, item.lots.join(", ")),
            hold_tag: self.hold_tag.clone(),
            tank: self.tank.clone(),
            note: self.note.clone(),
        }
    }
}

/// What was decided about an exception.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, Default)]
#[serde(deny_unknown_fields)]
pub struct Settlement {
    /// The exception's id.
    pub exception: String,
    /// Why it happened.
    pub cause: String,
    /// What was done.
    pub action: String,
    /// The further parts of the corrective action, where the plant asks for them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub correction: Option<Correction>,
    /// What becomes of the product.
    pub disposition: String,
    /// Why, where the disposition asks for a reason.
    pub disposition_reason: String,
    /// How much product, with its unit.
    pub quantity: String,
    /// Which lot.
    pub lot: String,
    /// The tag on what is put on hold; blank for another disposition.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub hold_tag: String,
    /// The tank that it is in; blank where it is not put on hold or nobody said.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub tank: String,
    /// What else there is to say.
    pub note: String,
}

/// Whether a disposition puts product on hold: a plant's own words for it count as well.
pub fn holds_product(disposition: &str) -> bool {
    let mut words = disposition.split(|letter: char| !letter.is_alphanumeric());
    let is_kept = words.any(|word| HOLD_WORDS.iter().any(|known| word.eq_ignore_ascii_case(known)));
    is_kept && !is_release(disposition)
}

/// Whether a disposition lets product go: a plant's own words for it count as well.
fn is_release(disposition: &str) -> bool {
    disposition.to_lowercase().contains(RELEASE)
}

/// What is put on hold bears a tag, by which it is found in the plant.
pub(crate) fn tag_wanted(disposition: &str, tag: &str) -> Option<&'static str> {
    let is_wanted = holds_product(disposition) && tag.trim().is_empty();
    is_wanted.then_some("the tag of what is put on hold")
}

/// The dispositions that every plant has, with their keys; a plant may add words of its own.
pub const DISPOSITIONS: [(&str, &str); 6] = [
    (HELD, "held"),
    ("re_pasteurized", "re-pasteurized"),
    ("diverted_to_other_use", "diverted to other use"),
    ("destroyed", "destroyed"),
    ("released", "released, with reason"),
    ("none_needed", "none needed, with reason"),
];

/// The name of a disposition for a person.
pub fn disposition_name(key: &str) -> &str {
    DISPOSITIONS.iter().find(|(known, _)| *known == key).map_or(key, |(_, name)| name)
}

impl Settlement {
    /// The disposition for a person, with its reason.
    pub fn disposition_in_words(&self) -> String {
        let name = disposition_name(&self.disposition);
        let hold = [("tag ", &self.hold_tag), ("tank ", &self.tank)];
        let hold = hold.into_iter().filter(|(_, text)| !text.trim().is_empty());
        let name = hold
            .fold(name.to_owned(), |name, (what, text)| format!("{name}, {what}{}", text.trim()));
        match self.disposition_reason.as_str() {
            "" => name,
            reason => format!("{name}: {reason}"),
        }
    }

    /// What was decided, in a line: disposition, quantity, cause and action.
    pub fn in_words(&self) -> String {
        let words = [&self.disposition_in_words(), &self.quantity, &self.cause, &self.action];
        let given = words.map(|text| text.trim()).into_iter().filter(|text| !text.is_empty());
        given.collect::<Vec<_>>().join("; ")
    }

    /// Whether it puts product on hold.
    pub fn holds_product(&self) -> bool {
        holds_product(&self.disposition)
    }

    /// The same as [`Settlement::missing`], and what this program asks for beside what every
    /// journal must hold: older programs gave what is on hold no tag.
    pub fn wanting(&self) -> Option<&'static str> {
        self.missing().or_else(|| tag_wanted(&self.disposition, &self.hold_tag))
    }

    /// The first part of the corrective action that is blank where all are asked for.
    pub fn missing_part(&self) -> Option<&'static str> {
        let none = Correction::default();
        self.correction.as_ref().unwrap_or(&none).missing()
    }

    /// The first of what is required and blank, in words; `None` when nothing is.
    pub fn missing(&self) -> Option<&'static str> {
        let blank = |text: &str| text.trim().is_empty();
        if blank(&self.cause) {
            Some("cause")
        } else if blank(&self.action) {
            Some("corrective action")
        } else if blank(&self.disposition) {
            Some("product disposition")
        } else if matches!(self.disposition.as_str(), "released" | "none_needed")
            && blank(&self.disposition_reason)
        {
            Some("reason for the disposition")
        } else {
            None
        }
    }
}

/// What a signature covers.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Scope {
    /// One shift of the record.
    Shift(OfShift),
    /// The whole record.
    Day(OfDay),
}

/// A shift by name.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OfShift {
    shift: String,
}

/// `{"day":true}`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OfDay {
    day: Always,
}

/// The one value `true`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct Always;

impl Serialize for Always {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_bool(true)
    }
}

impl<'de> Deserialize<'de> for Always {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        if bool::deserialize(deserializer)? {
            Ok(Self)
        } else {
            Err(serde::de::Error::custom("only true is possible"))
        }
    }
}

impl Scope {
    /// The whole record.
    pub const DAY: Self = Self::Day(OfDay { day: Always });

    /// One shift of the record.
    pub fn shift(name: &str) -> Self {
        Self::Shift(OfShift { shift: name.to_owned() })
    }

    /// The shift's name; `None` for the whole record.
    pub fn shift_name(&self) -> Option<&str> {
        match self {
            Self::Shift(of) => Some(&of.shift),
            Self::Day(_) => None,
        }
    }

    /// Whether something that touches `shifts` lies in the scope; the day holds everything.
    pub fn holds(&self, shifts: &[String]) -> bool {
        self.shift_name().is_none_or(|name| shifts.iter().any(|shift| shift == name))
    }

    /// Whether two scopes have something in common.
    pub fn overlaps(&self, other: &Self) -> bool {
        match (self.shift_name(), other.shift_name()) {
            (Some(one), Some(other)) => one == other,
            _ => true,
        }
    }
}

impl fmt::Display for Scope {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.shift_name() {
            Some(name) => write!(formatter, "the shift \u{201c}{name}\u{201d}"),
            None => formatter.write_str("the whole record"),
        }
    }
}

impl Decision {
    /// The decision that a line's body holds, and the digest of the register's last line, hexadecimal,
    /// where it names one: a signed line does, so that it is known which roles it was made under.
    ///
    /// # Errors
    /// What is wrong with the body.
    pub fn of(body: &Body) -> Result<(Self, Option<String>), String> {
        let mut body = body.clone();
        let is_signature = body.get(KIND).and_then(Value::as_str) == Some(SIGNED);
        let register = match if is_signature { None } else { body.remove(REGISTER) } {
            None => None,
            Some(Value::String(register)) => Some(register),
            Some(_) => return Err(format!("{REGISTER:?} is of another type")),
        };
        let decision: Self = serde_json::from_value(Value::Object(body))
            .map_err(|cause| format!("its body is not known ({cause})"))?;
        match &decision {
            Self::Signed { register, .. } => Ok((decision.clone(), Some(register.clone()))),
            _ => Ok((decision, register)),
        }
    }

    /// The body of a line; `register` as in [`Decision::of`], for a line that is signed.
    #[expect(clippy::unreachable, reason = "a tagged enum is always written as an object")]
    pub fn body(&self, register: Option<&str>) -> Body {
        match serde_json::to_value(self) {
            Ok(Value::Object(mut body)) => {
                if let Some(register) = register {
                    body.insert(REGISTER.to_owned(), register.into());
                }
                body
            }
            other => unreachable!("{other:?}"),
        }
    }

    /// Whether it releases product that an exception touched.
    fn releases(&self) -> bool {
        let disposition = match self {
            Self::Settled(settlement) => &settlement.disposition,
            Self::SettledTogether(together) => &together.disposition,
            _ => return false,
        };
        is_release(disposition)
    }

    /// What a person must prove to be theirs with a signature; `None` for what a name is enough for.
    /// `is_approved` says whether what is reopened is approved, `ends_hold` what ending a hold is.
    pub(crate) fn act(&self, is_approved: impl Fn(&Scope) -> bool, ends_hold: Act) -> Option<Act> {
        match self {
            Self::HoldEnded(_) | Self::Withdrawn { of: ItemKind::HoldEnd, .. } => Some(ends_hold),
            Self::Signed { meaning, .. } => Some(Act::Sign(*meaning)),
            Self::SentBack { .. } | Self::ClockCorrected { .. } => Some(Act::Supervise),
            Self::Reopened { scope, .. } if is_approved(scope) => Some(Act::Supervise),
            Self::Reopened { .. } => Some(Act::Enter),
            _ if self.releases() => Some(Act::Enter),
            _ => None,
        }
    }

    /// What is done, in a few words, for a dialog that asks for a passphrase.
    pub fn in_words(&self) -> String {
        match self {
            Self::Signed { meaning, scope, .. } => format!("sign {scope} as {meaning}"),
            Self::SentBack { .. } => "return an exception with a comment".to_owned(),
            Self::Reopened { scope, .. } => format!("reopen {scope}"),
            Self::ClockCorrected { .. } => "correct the clock".to_owned(),
            Self::Settled(_) => "release the product of an exception".to_owned(),
            Self::SettledTogether(together) => format!("release the product of {}", together.of),
            Self::HoldEnded(ending) => format!("end the hold {}", ending.hold),
            Self::Withdrawn { of: ItemKind::HoldEnd, item } => {
                format!("put on hold again: {item}")
            }
            _ => "enter a decision".to_owned(),
        }
    }
}
