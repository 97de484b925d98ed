//! Whether a record is what was signed, link by link: the chain, the rules, the sources, the plant
//! file, the audit, each signature.

use crate::hole::HoleBefore;
use crate::state::{Signed, State};
use crate::subject::{Source, Subject};
use analysis::METHOD;
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
    /// The version of the method of the audit that the journal speaks of, where this program follows
    /// another: then that audit can't be done again here, and the link of that name does not hold.
    pub other_method: Option<u64>,
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

    /// Whether every link holds but that the audit is of another version of the method, and perhaps
    /// that everything is signed, or that the hole before the record is open: then nothing was
    /// changed, and the new audit is to be entered. Until then nothing can be signed, and the hole
    /// is told again after it.
    pub fn is_intact_but_for_the_method(&self) -> bool {
        let excepted = |link: &Link| [SIGN_OFF, AUDIT, HOLE].contains(&link.what.as_str());
        self.other_method.is_some() && self.links.iter().all(|link| link.holds || excepted(link))
    }

    /// The link of the signature in a line of the journal.
    pub fn signature(&self, line: u64) -> Option<&Link> {
        self.links.iter().find(|link| link.signature == Some(line))
    }
}

/// How the names of the signatures' links begin.
const SIGNATURE: &str = "signature, line ";
/// The name of the link that says whether the audit, done again, gives the same.
pub const AUDIT: &str = "audit";
/// The name of the link that says whether the hole before the record is closed.
pub const HOLE: &str = "hole before the record";
/// The name of the last link: whether everything is signed.
pub const SIGN_OFF: &str = "sign-off";

/// Checks a journal against the register and against the record as it is read and audited now. A
/// record alone knows no hole before it: see [`verify_after`].
///
/// `register` and `fresh` are sentences where they can't be had.
pub fn verify(
    journal: &Reading,
    register: Result<&Register, String>,
    fresh: Result<&Subject, String>,
) -> Verification {
    verify_after(journal, register, fresh, None)
}

/// The same for a record whose folder was gone through: `hole` is the hole before it that is to be
/// closed, if there is one.
pub fn verify_after(
    journal: &Reading,
    register: Result<&Register, String>,
    fresh: Result<&Subject, String>,
    hole: Option<&HoleBefore>,
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
    let other_method =
        state.as_ref().map(|state| state.subject().method).filter(|method| *method != METHOD);
    if let Some(state) = &state {
        against_files(&mut link, state.subject(), fresh);
        if let Some(hole) = hole {
            let (holds, found) = hole_before(state, hole);
            link(HOLE, holds, found);
        }
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
        let of_method = other_method.filter(|_| covered(Meaning::Reviewed));
        let of_method = of_method.map_or_else(String::new, |method| {
            format!(", as audited by version {method} of the method")
        });
        link(SIGN_OFF, covered(Meaning::Approved), format!("{found}{of_method}"));
    }
    Verification { links, other_method, head: journal.head(), lines: journal.lines.len() }
}

/// Whether the hole before the record is closed, in a sentence.
fn hole_before(state: &State, hole: &HoleBefore) -> (bool, String) {
    let words = hole.in_words();
    if let Some(made) = state.hole_closed(hole) {
        return (true, format!("{words}; closed by {}: {}", made.mark.by, made.value));
    }
    let found = if state.signatures().iter().any(Signed::stands) {
        "not closed when it was signed: the record before was added or changed since, or nobody \
         looked for it; reopen the review, close the hole and sign again"
    } else {
        "not closed"
    };
    (false, format!("{words}; {found}"))
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
        Err(why) => {
            link("files", false, why);
            if reviewed.method != METHOD {
                link(AUDIT, false, of_other_method(reviewed));
            }
            return;
        }
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
    // What is to be resolved and closed follows from the audit; comparing it as well catches a journal
    // whose lists were made up.
    let (holds, found) = if reviewed.method != fresh.method {
        if !is_same_pasteurizer(reviewed, fresh) {
            link("record", false, "the journal speaks of another record".to_owned());
        }
        (false, of_other_method(reviewed))
    } else if reviewed.audit != fresh.audit {
        let (was, now) = (&reviewed.program, &fresh.program);
        (false, format!("its result was {} ({was}), is {} ({now})", reviewed.audit, fresh.audit))
    } else if !lists_agree(reviewed, fresh) {
        (false, "the journal speaks of another record, or lists other things to resolve".to_owned())
    } else {
        (true, format!("done again by {}: result sha256 {}", fresh.program, fresh.audit))
    };
    link(AUDIT, holds, found);
}

/// What there is to say of an audit that this program can't do again, since the method changed.
fn of_other_method(reviewed: &Subject) -> String {
    let Subject { method, program, audit, .. } = reviewed;
    let done = format!(
        "done by version {method} of the method ({program}), this program follows version {METHOD}: \
         the result with sha256 {audit} is that program's and can't be worked out again here"
    );
    if *method < METHOD {
        format!("{done}; enter the new audit (re-audit)")
    } else {
        format!("{done}; use that program or a newer one")
    }
}

/// Whether what no method changes agrees: it follows from the plant file alone.
fn is_same_pasteurizer(one: &Subject, other: &Subject) -> bool {
    one.plant == other.plant
        && one.unit == other.unit
        && one.same_person_may_approve == other.same_person_may_approve
}

/// Whether two subjects ask for the same to be resolved, closed, acknowledged and entered.
fn lists_agree(one: &Subject, other: &Subject) -> bool {
    is_same_pasteurizer(one, other)
        && one.start == other.start
        && one.end == other.end
        && one.exceptions == other.exceptions
        && one.to_close == other.to_close
        && one.observations == other.observations
        && one.entries == other.entries
        && one.shifts == other.shifts
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
    let Signed { mark, meaning, scope, name, role, register: head, method, superseded_by } = signed;
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
    let of_method = match *method {
        METHOD => String::new(),
        method => format!("; on an audit by version {method} of the method"),
    };
    let standing =
        superseded_by.map_or_else(String::new, |line| format!("; superseded by line {line}"));
    let enrolled = register.signer(&signer);
    let named = enrolled.is_some_and(|enrolled| enrolled.name() == name)
        && register.role_at(&signer, head) == Some(*role);
    let found = if verdict.holds() && !named {
        format!("the printed name or role is not the register's: {name}, {role}")
    } else if verdict.holds() {
        format!("{meaning}, {scope}, by {name} ({role}), {}{of_method}{standing}", mark.at)
    } else {
        format!("{meaning}, {scope}, by {name}: {verdict}")
    };
    link(&what, verdict.holds() && named, found);
}
