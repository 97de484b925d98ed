//! Whether a record is what was signed, link by link: the chain, the rules, the sources, the plant
//! file, the audit, each signature.

use crate::state::{Signed, State};
use crate::subject::{Source, Subject};
use journal::{Digest, Reading};
use signers::{Meaning, Register, SignerId};
use std::fmt;

/// One link and whether it holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// What was checked.
    pub what: String,
    /// Whether it holds.
    pub holds: bool,
    /// What was found, in a sentence.
    pub found: String,
    /// The journal's line of the signature that it is about; `None` for every other link.
    pub signature: Option<u64>,
}

impl fmt::Display for Link {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let verdict = if self.holds { "holds" } else { "FAILS" };
        write!(formatter, "{verdict}  {}: {}", self.what, self.found)
    }
}

/// The verdicts on all links of one record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verification {
    /// In the order in which they were checked.
    pub links: Vec<Link>,
    /// The digest of the journal's last good line.
    pub head: Digest,
    /// How many good lines the journal has.
    pub lines: usize,
}

impl Verification {
    /// Whether every link holds.
    pub fn holds(&self) -> bool {
        self.links.iter().all(|link| link.holds)
    }

    /// Whether every link holds but perhaps that everything is signed.
    pub fn is_intact(&self) -> bool {
        self.links.iter().all(|link| link.holds || link.what == SIGN_OFF)
    }

    /// The link of the signature in a line of the journal.
    pub fn signature(&self, line: u64) -> Option<&Link> {
        self.links.iter().find(|link| link.signature == Some(line))
    }
}

/// How the names of the signatures' links begin.
const SIGNATURE: &str = "signature, line ";
/// The name of the last link: whether everything is signed.
pub const SIGN_OFF: &str = "sign-off";

/// Checks a journal against the register and against the record as it is read and audited now.
///
/// `register` and `fresh` are sentences where they can't be had.
pub fn verify(
    journal: &Reading,
    register: Result<&Register, String>,
    fresh: Result<&Subject, String>,
) -> Verification {
    let mut links = Vec::new();
    let mut link = |what: &str, holds: bool, found: String| {
        let line = what.strip_prefix(SIGNATURE).and_then(|line| line.parse().ok());
        links.push(Link { what: what.to_owned(), holds, found, signature: line });
    };
    match &journal.fault {
        None if journal.lines.is_empty() => link("chain", false, "there is no journal".to_owned()),
        None => link(
            "chain",
            true,
            format!("{} lines, each follows the one above", journal.lines.len()),
        ),
        Some(fault) => link("chain", false, fault.to_string()),
    }
    // What holds up to a broken rule is still worth telling.
    let (state, broken) = State::replay_as_far(&journal.lines);
    match broken {
        Some((line, why)) => link("rules", false, format!("line {line}: {why}")),
        None if state.is_some() => {
            link("rules", true, "every entry was allowed where it stands".to_owned());
        }
        None => {}
    }
    if let Some(state) = &state {
        against_files(&mut link, state.subject(), fresh);
        match register {
            Ok(register) => {
                people(&mut link, journal, register);
                for signed in state.signatures() {
                    signature(&mut link, journal, register, signed);
                }
            }
            Err(why) => link("register of signers", false, why),
        }
        let covered = |meaning| state.covered_at(meaning).is_some();
        let found = match (covered(Meaning::Reviewed), covered(Meaning::Approved)) {
            (_, true) => "standing signatures cover the whole record, reviewed and approved",
            (true, false) => "reviewed, but no standing signature approves the whole record",
            (false, false) => "no standing signatures cover the whole record",
        };
        link(SIGN_OFF, covered(Meaning::Approved), found.to_owned());
    }
    Verification { links, head: journal.head(), lines: journal.lines.len() }
}

/// What differs between what was reviewed and what is there now, in sentences; the program that
/// audited may be another as long as it finds the same.
pub(crate) fn differences(reviewed: &Subject, now: &Subject) -> Vec<String> {
    let mut links = Vec::new();
    let mut link = |what: &str, holds: bool, found: String| {
        if !holds {
            links.push(format!("{what}: {found}"));
        }
    };
    against_files(&mut link, reviewed, Ok(now));
    links
}

fn against_files(
    link: &mut dyn FnMut(&str, bool, String),
    reviewed: &Subject,
    fresh: Result<&Subject, String>,
) {
    let fresh = match fresh {
        Ok(fresh) => fresh,
        Err(why) => return link("files", false, why),
    };
    let files = |subject: &'_ Subject| -> Vec<Source> {
        subject.sources.iter().chain(&subject.run_sheet).cloned().collect()
    };
    let (then, now) = (files(reviewed), files(fresh));
    for source in &then {
        let what = format!("file {}", source.name);
        match now.iter().find(|now| now.name == source.name) {
            Some(now) if now == source => link(&what, true, format!("sha256 {}", now.sha256)),
            Some(now) => link(
                &what,
                false,
                format!("sha256 was {}, is {}: it was changed", source.sha256, now.sha256),
            ),
            None => link(&what, false, "it is not there".to_owned()),
        }
    }
    for now in &now {
        if !then.iter().any(|source| source.name == now.name) {
            link(&format!("file {}", now.name), false, "it was not there at the review".to_owned());
        }
    }
    match (&reviewed.plant_file, &fresh.plant_file) {
        (Some(was), Some(now)) if was.sha256 == now.sha256 => {
            link("plant file", true, format!("{}, sha256 {}", now.name, now.sha256));
        }
        (None, None) => link("plant file", true, "none, the plant was assumed".to_owned()),
        (Some(was), Some(now)) => link(
            "plant file",
            false,
            format!("sha256 was {}, is {}: it was changed", was.sha256, now.sha256),
        ),
        (Some(was), None) => link("plant file", false, format!("{} is not there", was.name)),
        (None, Some(now)) => link("plant file", false, format!("{} was not used then", now.name)),
    }
    // What is to be settled follows from the audit; comparing it as well catches a journal whose
    // lists were made up.
    let (holds, found) = if reviewed.audit != fresh.audit {
        let (was, now) = (&reviewed.program, &fresh.program);
        (false, format!("its result was {} ({was}), is {} ({now})", reviewed.audit, fresh.audit))
    } else if !lists_agree(reviewed, fresh) {
        (false, "the journal speaks of another record, or lists other things to settle".to_owned())
    } else {
        (true, format!("done again by {}: result sha256 {}", fresh.program, fresh.audit))
    };
    link("audit", holds, found);
}

/// Whether two subjects ask for the same to be settled.
fn lists_agree(one: &Subject, other: &Subject) -> bool {
    one.plant == other.plant
        && one.unit == other.unit
        && one.start == other.start
        && one.end == other.end
        && one.exceptions == other.exceptions
        && one.observations == other.observations
        && one.entries == other.entries
        && one.shifts == other.shifts
        && one.same_person_may_approve == other.same_person_may_approve
}

/// Whether everybody who made an entry was enrolled then. Entries name people, only signatures prove
/// them.
fn people(link: &mut dyn FnMut(&str, bool, String), journal: &Reading, register: &Register) {
    for line in &journal.lines {
        let what = format!("line {}", line.sequence());
        let signer = line.by().parse::<SignerId>().ok();
        let Some(signer) = signer.and_then(|id| register.signer(&id).cloned()) else {
            link(&what, false, format!("{} is not in the register of signers", line.by()));
            continue;
        };
        if signer.revoked().is_some_and(|revoked| revoked.instant() < line.at().instant()) {
            link(&what, false, format!("{} was revoked before", line.by()));
        }
    }
}

fn signature(
    link: &mut dyn FnMut(&str, bool, String),
    journal: &Reading,
    register: &Register,
    signed: &Signed,
) {
    let Signed { mark, meaning, scope, name, role, register: head, superseded_by } = signed;
    let what = format!("{SIGNATURE}{}", mark.line);
    let line = usize::try_from(mark.line).ok().and_then(|line| journal.lines.get(line - 1));
    let (Some(line), Ok(signer), Ok(head)) =
        (line, mark.by.parse::<SignerId>(), head.parse::<Digest>())
    else {
        return link(&what, false, "it is not written as a signature is".to_owned());
    };
    let Some(signature) = line.signature() else {
        return link(&what, false, "it is missing".to_owned());
    };
    let bytes = line.signed_bytes();
    let verdict = register.check(&signer, *meaning, mark.at, head, &bytes, &signature);
    let standing =
        superseded_by.map_or_else(String::new, |line| format!("; superseded by line {line}"));
    let enrolled = register.signer(&signer);
    let named = enrolled.is_some_and(|enrolled| enrolled.name() == name)
        && register.role_at(&signer, head) == Some(*role);
    let found = if verdict.holds() && !named {
        format!("the printed name or role is not the register's: {name}, {role}")
    } else if verdict.holds() {
        format!("{meaning}, {scope}, by {name} ({role}), {}{standing}", mark.at)
    } else {
        format!("{meaning}, {scope}, by {name}: {verdict}")
    };
    link(&what, verdict.holds() && named, found);
}
