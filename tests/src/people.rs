//! Invented people with real keys, the register of signers that they begin, and the reviews that they
//! sign in it: for tests of what shows a review, which may not say by themselves that a signature holds.

use crate::good;
use journal::{Entry, Journal, Sign, Stamp};
use review::{Decision, SignerId, State, Subject};
use signers::{Cost, Enrolment, KeyFolder, Passphrase, Register, RegisterFile, Role, UnlockedKey};
use std::path::Path;
use trace::Instant;

/// Some days after every record that these people review.
pub const NOW: Instant = Instant::from_unix_milliseconds(1_773_900_000_000);

/// Minutes after an instant, on a clock five hours behind UTC.
pub fn minutes_after(milliseconds: i64, minutes: i64) -> Stamp {
    let instant = Instant::from_unix_milliseconds(milliseconds + 60_000 * minutes);
    good(Stamp::new(instant, -5 * 3600).ok_or("five hours are an offset"))
}

/// An identifier.
pub fn id(text: &str) -> SignerId {
    good(text.parse())
}

/// The text of the passphrase of all keys.
pub const PASSPHRASE: &str = "correct horse battery";

/// The passphrase of all keys.
pub fn passphrase() -> Passphrase {
    Passphrase::new(PASSPHRASE.to_owned())
}

/// A new key for somebody, cheap to unlock, under a configuration folder.
pub fn new_key(config: &Path, who: &str) -> UnlockedKey {
    let keys = KeyFolder::under(config);
    good(keys.create(&id(who), &passphrase(), Cost::TEST))
}

/// What is entered of somebody.
pub fn enrolment(key: &UnlockedKey, name: &str, role: Role) -> Enrolment {
    Enrolment {
        signer: key.signer().clone(),
        name: name.to_owned(),
        role,
        public_key: key.public_key(),
    }
}

/// The supervisor Ben has created the register and enrols the technician Anna.
pub fn begin(folder: &Path, dates: [Stamp; 2]) -> (RegisterFile, [UnlockedKey; 2]) {
    begin_as(folder, ["Anna Example (invented)", "Ben Example (invented)"], dates)
}

/// The same, with other names.
pub fn begin_as(
    folder: &Path,
    [technician, supervisor]: [&str; 2],
    [begun, enrolled]: [Stamp; 2],
) -> (RegisterFile, [UnlockedKey; 2]) {
    let [anna, ben] = ["anna", "ben"].map(|who| new_key(&folder.join("config"), who));
    let (mut file, _) = good(RegisterFile::open(&folder.join("signers.jsonl")));
    good(file.found(supervisor, &ben, begun));
    good(file.enrol(enrolment(&anna, technician, Role::Technician), &ben, enrolled));
    (file, [anna, ben])
}

/// How somebody makes a line.
#[derive(Debug, Clone, Copy)]
pub enum Hand<'a> {
    /// By a name alone.
    Name(&'a str),
    /// With a signature.
    Key(&'a UnlockedKey),
    /// With a signature of something else.
    Wrong(&'a UnlockedKey),
}

impl<'a> Hand<'a> {
    fn by(self) -> &'a str {
        match self {
            Self::Name(by) => by,
            Self::Key(key) | Self::Wrong(key) => key.signer().as_str(),
        }
    }
}

/// The review of `subject` as replaying its journal gives it, opened by whoever makes the first line.
///
/// # Panics
/// When the rules refuse a line, or there is none.
pub fn reviewed<'a>(
    subject: &Subject,
    register: Option<&Register>,
    made: impl IntoIterator<Item = (Hand<'a>, Stamp, Decision)>,
) -> State {
    let folder = good(tempfile::tempdir());
    let (mut journal, _) = good(Journal::open(&folder.path().join("review.jsonl")));
    let mut made = made.into_iter().peekable();
    let opened = Decision::Opened { subject: subject.clone() };
    let opened = made.peek().map(|(hand, at, _)| (Hand::Name(hand.by()), *at, opened));
    for (hand, at, decision) in opened.into_iter().chain(made) {
        let (key, fits) = match hand {
            Hand::Name(_) => (None, false),
            Hand::Key(key) => (Some(key), true),
            Hand::Wrong(key) => (Some(key), false),
        };
        let sign = key
            .map(|key| move |bytes: &[u8]| key.sign(if fits { bytes } else { b"something else" }));
        let head = key.and(register).map(|register| register.head().to_string());
        let entry = Entry { at, by: hand.by().to_owned(), body: decision.body(head.as_deref()) };
        good(journal.append(entry, sign.as_ref().map(|sign| sign as Sign<'_>)).map(drop));
    }
    match State::replay(journal.lines(), register) {
        Ok(Some(state)) => state,
        Ok(None) => panic!("nobody made a line"),
        Err((line, refusal)) => panic!("line {line}: {refusal}"),
    }
}
