//! Which seals were broken while a record ran, as the plant's register says.

use crate::subject::Subject;
use journal::Stamp;
use signers::{Register, Seal};

/// The seals of the record's pasteurizer that were broken at some time while it ran, in the order in which they were
/// entered.
pub fn broken_seals<'a>(register: &'a Register, subject: &Subject) -> Vec<&'a Seal> {
    let at = |text: &str| text.parse::<Stamp>().map(|stamp| stamp.instant());
    match (at(&subject.start), at(&subject.end)) {
        (Ok(from), Ok(to)) => register.equipment().broken_between(&subject.unit, from, to),
        // No audit gives such a subject; its signatures are checked elsewhere.
        _ => Vec::new(),
    }
}
