//! Whether the operators' entries of a record are signed: a look into the plant's ledger, which keeps those
//! signatures with the digest of the bytes that were signed.

use crate::subject::Source;
use signers::{Books, Register, SignedEntries};

/// The item of the plant's list that a signature under the operators' entries fills.
pub const SIGNATURE: &str = "signature or initials";

/// What is known of the signatures under a file of operators' entries.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum EntriesSigned {
    /// Nobody signed it.
    Nobody,
    /// These bytes were signed; by whom, as what and when, in words.
    By(String),
    /// Other bytes were signed under this name: it was changed since, in words.
    ChangedSince(String),
    /// The books in which a signature would stand can't be relied on; why.
    Unknown(String),
}

impl EntriesSigned {
    /// What the plant's books say of the file `source`, which lies beside `journal` (named as in
    /// [`Books::name_of`]).
    pub fn of(books: &Books, journal: &str, source: &Source) -> Self {
        let (register, ledger) = match (&books.register, &books.ledger) {
            (Ok(register), Ok(Some(ledger))) => (register, ledger),
            (Ok(_), Ok(None)) => return Self::Nobody,
            (Err(why), _) | (_, Err(why)) => return Self::Unknown(why.clone()),
        };
        let file = beside(journal, &source.name);
        let found = ledger.of_entries(&file, &source.sha256);
        let is_same = found.iter().any(|one| one.entries.sha256 == source.sha256);
        let words: Vec<String> = found.into_iter().map(|one| in_words(register, one)).collect();
        match words.is_empty() {
            true => Self::Nobody,
            false if is_same => Self::By(words.join("; ")),
            false => Self::ChangedSince(words.join("; ")),
        }
    }

    /// Whether there is a signature that holds for the entries that are there.
    pub const fn holds(&self) -> bool {
        matches!(self, Self::By(_))
    }

    /// Who signed and whether that holds, in a sentence.
    pub fn sentence(&self) -> String {
        match self {
            Self::Nobody => "Not signed: nobody has signed these entries.".to_owned(),
            Self::By(words) => {
                format!("Signed by {words}. The signature was checked and holds for these entries.")
            }
            Self::ChangedSince(words) => format!(
                "CHANGED since they were signed by {words}: that signature does not hold for these entries."
            ),
            Self::Unknown(why) => format!("Whether they are signed can't be told: {why}."),
        }
    }

    /// What a link of the verification says of it, and whether that holds; `None` where nobody signed.
    pub(crate) fn link(&self, sha256: &str) -> Option<(bool, String)> {
        match self {
            Self::Nobody | Self::Unknown(_) => None,
            Self::By(words) => Some((true, format!("signed by {words}, sha256 {sha256}"))),
            Self::ChangedSince(words) => {
                Some((false, format!("signed by {words}, and changed since; sign them again")))
            }
        }
    }
}

/// The file `name` in the folder of the file `journal`.
fn beside(journal: &str, name: &str) -> String {
    match journal.rsplit_once('/') {
        Some((folder, _)) => format!("{folder}/{name}"),
        None => name.to_owned(),
    }
}

fn in_words(register: &Register, signed: &SignedEntries) -> String {
    let signer = register.signer(&signed.by);
    let (name, role) = match signer {
        Some(signer) => (signer.name().to_owned(), signer.role().to_string()),
        None => (signed.by.to_string(), "not in the register".to_owned()),
    };
    // Date and minute as the signer's clock showed them; the ledger has the rest.
    format!("{name} ({role}), {}", signed.at.minute())
}
