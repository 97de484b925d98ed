//! What the tests of reviews with real keys share: a plant of two people, and its dates.

use journal::Stamp;
use review::SignerId;
use signers::{Cost, Enrolment, KeyFolder, Passphrase, RegisterFile, Role, UnlockedKey};
use std::path::Path;
use trace::Instant;

/// Some days after every record here.
pub const NOW: Instant = Instant::from_unix_milliseconds(1_773_900_000_000);

/// Minutes after an instant, on a clock five hours behind UTC.
pub fn minutes_after(milliseconds: i64, minutes: i64) -> Stamp {
    let instant = Instant::from_unix_milliseconds(milliseconds + 60_000 * minutes);
    Stamp::new(instant, -5 * 3600).unwrap_or_else(|| panic!("five hours are an offset"))
}

pub fn id(text: &str) -> SignerId {
    text.parse().unwrap_or_else(|error| panic!("{error}"))
}

/// The passphrase of all keys.
pub fn passphrase() -> Passphrase {
    Passphrase::new("correct horse battery".to_owned())
}

/// A new key for somebody, cheap to unlock.
pub fn new_key(folder: &Path, who: &str) -> UnlockedKey {
    let keys = KeyFolder::under(&folder.join("config"));
    keys.create(&id(who), &passphrase(), Cost::TEST).unwrap_or_else(|error| panic!("{error}"))
}

pub fn enrolment(key: &UnlockedKey, name: &str, role: Role) -> Enrolment {
    Enrolment {
        signer: key.signer().clone(),
        name: name.to_owned(),
        role,
        public_key: key.public_key(),
    }
}

/// The supervisor Ben begins the register and enrols the technician Anna.
pub fn begin(folder: &Path, [begun, enrolled]: [Stamp; 2]) -> (RegisterFile, [UnlockedKey; 2]) {
    let (anna, ben) = (new_key(folder, "anna"), new_key(folder, "ben"));
    let opened = RegisterFile::open(&folder.join("signers.jsonl"));
    let Ok((mut file, None)) = opened else { panic!("{opened:?}") };
    let made = file.found("Ben Example (invented)", &ben, begun);
    assert!(made.is_ok(), "{made:?}");
    let new = enrolment(&anna, "Anna Example (invented)", Role::Technician);
    let made = file.enrol(new, &ben, enrolled);
    assert!(made.is_ok(), "{made:?}");
    (file, [anna, ben])
}
