//! The plant's register of signers as its lines give it: a pure replay, in which every signature
//! and every rule is checked, and the answer to whether a signature elsewhere holds.

use crate::change::{Change, Enrolment};
use crate::key::UnlockedKey;
use crate::person::{Meaning, Role, SignerId};
use crate::public_key::PublicKey;
use crate::verdict::Verdict;
use journal::{Digest, Line, Signature, Stamp};
use std::fmt;
use trace::Instant;

/// Who may sign and who might, as of the last line.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Register {
    signers: Vec<Signer>,
    lines: Vec<Digest>,
}

/// A signer as the register has them.
#[derive(Debug, Clone, PartialEq)]
pub struct Signer {
    enrolment: Enrolment,
    enrolled: Stamp,
    revoked: Option<Stamp>,
    /// What the signer was from which line on; the enrolment first.
    standings: Vec<Standing>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Standing {
    /// The place of the line that gave it.
    line: usize,
    at: Instant,
    /// None once revoked.
    role: Option<Role>,
}

/// The first line that breaks a rule of the register.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Violation {
    /// The line, from 1.
    pub line: u64,
    /// What is wrong with it: a sentence without its full stop.
    pub why: String,
}

impl fmt::Display for Violation {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "line {} breaks a rule of the register: {}", self.line, self.why)
    }
}

impl Signer {
    /// The identifier.
    pub const fn id(&self) -> &SignerId {
        &self.enrolment.signer
    }

    /// The name as it is printed under a signature.
    pub fn name(&self) -> &str {
        &self.enrolment.name
    }

    /// The role now, or the last one before the revocation.
    pub const fn role(&self) -> Role {
        self.enrolment.role
    }

    /// The key that the signer's signatures must fit.
    pub const fn public_key(&self) -> PublicKey {
        self.enrolment.public_key
    }

    /// When the signer was enrolled.
    pub const fn enrolled(&self) -> Stamp {
        self.enrolled
    }

    /// When the signer was revoked, if so.
    pub const fn revoked(&self) -> Option<Stamp> {
        self.revoked
    }

    fn is_supervisor(&self) -> bool {
        self.revoked.is_none() && self.role() == Role::Supervisor
    }

    /// The standing after the line at `place`: `None` before the enrolment.
    fn standing_after(&self, place: usize) -> Option<Standing> {
        self.standings.iter().rev().find(|standing| standing.line <= place).copied()
    }

    /// Whether at `at` the signer had a role that might give `meaning`. Both ends of a role count.
    fn might(&self, meaning: Meaning, at: Instant) -> bool {
        let ends = self.standings.iter().skip(1).map(|next| Some(next.at)).chain([None]);
        self.standings.iter().zip(ends).any(|(standing, end)| {
            standing.role.is_some_and(|role| meaning.is_open_to(role))
                && standing.at <= at
                && end.is_none_or(|end| at <= end)
        })
    }
}

impl Register {
    /// Replays the lines of a register's journal. No lines give the empty register.
    ///
    /// # Errors
    /// The first line that breaks a rule, or whose signature does not fit.
    pub fn replay(lines: &[Line]) -> Result<Self, Violation> {
        let mut register = Self::default();
        for line in lines {
            register.enter(line)?;
        }
        Ok(register)
    }

    /// All signers in the order of their enrolment, the revoked ones too.
    pub fn signers(&self) -> &[Signer] {
        &self.signers
    }

    /// One signer.
    pub fn signer(&self, signer: &SignerId) -> Option<&Signer> {
        self.signers.iter().find(|candidate| candidate.id() == signer)
    }

    /// The digest of the last line, which a signature names.
    pub fn head(&self) -> Digest {
        self.lines.last().copied().unwrap_or(Digest::NONE)
    }

    /// The role of `signer` after the line with the digest `head`; `None` where there is no such
    /// line, or the signer was not enrolled or revoked there.
    pub fn role_at(&self, signer: &SignerId, head: Digest) -> Option<Role> {
        self.signer(signer)?.standing_after(self.place(head)?)?.role
    }

    /// Whether the holder of `key` may sign with `meaning` at `at`, naming the register's head. To
    /// be asked before something is signed for good.
    pub fn may_sign(&self, key: &UnlockedKey, meaning: Meaning, at: Stamp) -> Verdict {
        match self.signer(key.signer()) {
            Some(known) if known.public_key() != key.public_key() => Verdict::KeyDoesNotFit,
            _ => self.allows(key.signer(), meaning, at, self.head()),
        }
    }

    /// Whether `signature` over `bytes` holds: the key of `signer` fits, and at the line of the
    /// register with the digest `head` and at the date `at` the signer might sign with `meaning`.
    pub fn check(
        &self,
        signer: &SignerId,
        meaning: Meaning,
        at: Stamp,
        head: Digest,
        bytes: &[u8],
        signature: &Signature,
    ) -> Verdict {
        match self.signer(signer) {
            Some(known) if !known.public_key().fits(bytes, signature) => Verdict::KeyDoesNotFit,
            _ => self.allows(signer, meaning, at, head),
        }
    }

    fn allows(&self, signer: &SignerId, meaning: Meaning, at: Stamp, head: Digest) -> Verdict {
        let Some(signer) = self.signer(signer) else { return Verdict::UnknownSigner };
        let Some(place) = self.place(head) else { return Verdict::UnknownRegisterHead };
        let Some(standing) = signer.standing_after(place) else { return Verdict::NotYetEnrolled };
        let Some(role) = standing.role else { return Verdict::AlreadyRevoked };
        if !meaning.is_open_to(role) {
            return Verdict::RoleMayNot { role, meaning };
        }
        // The line named is the signer's choice, so the date must agree: an old line does not
        // give back what was taken away since, nor a new one what was given only later.
        if at.instant() < signer.enrolled.instant() {
            return Verdict::BeforeEnrolment { enrolled: signer.enrolled };
        }
        if let Some(revoked) = signer.revoked
            && at.instant() > revoked.instant()
        {
            return Verdict::AfterRevocation { revoked };
        }
        if !signer.might(meaning, at.instant()) {
            return Verdict::RoleMightNotThen { meaning };
        }
        Verdict::Holds
    }

    fn place(&self, head: Digest) -> Option<usize> {
        self.lines.iter().position(|line| *line == head)
    }

    /// Enters the next line after checking it.
    pub(crate) fn enter(&mut self, line: &Line) -> Result<(), Violation> {
        let change = self
            .checked(line)
            .map_err(|why| Violation { line: self.lines.len() as u64 + 1, why })?;
        self.apply(change, line.at());
        self.lines.push(line.digest());
        Ok(())
    }

    fn checked(&self, line: &Line) -> Result<Change, String> {
        let by = line.by().parse().map_err(|error: crate::Error| error.to_string())?;
        let change = Change::from_body(line.body())?;
        let key = self.admit(&by, &change)?;
        let signature = line.signature().ok_or("it is not signed")?;
        if !key.fits(&line.signed_bytes(), &signature) {
            return Err(format!("its signature does not fit the key of {by}"));
        }
        Ok(change)
    }

    /// Whether `by` may make `change` now; gives the key that must sign it.
    pub(crate) fn admit(&self, by: &SignerId, change: &Change) -> Result<PublicKey, String> {
        let key = self.acting(by, change)?;
        match change {
            Change::Enrolled(enrolment) => {
                let Enrolment { signer, name, role: _, public_key } = enrolment;
                check_text("name", name)?;
                if self.signer(signer).is_some() {
                    return Err(format!(
                        "{signer} was enrolled before; an identifier is given once"
                    ));
                }
                let same = |other: &&Signer| other.public_key() == *public_key;
                if let Some(other) = self.signers.iter().find(same) {
                    return Err(format!(
                        "the key of {signer} is the key of {}; each signer has their own",
                        other.id()
                    ));
                }
            }
            Change::RoleChanged { signer, role } => {
                let current = self.current(signer)?;
                if *role != Role::Supervisor && self.is_last_supervisor(current) {
                    return Err(format!("{signer} is the last supervisor; enrol another first"));
                }
            }
            Change::Revoked { signer, reason } => {
                let current = self.current(signer)?;
                check_text("reason", reason)?;
                if self.is_last_supervisor(current) {
                    return Err(format!("{signer} is the last supervisor; enrol another first"));
                }
            }
        }
        Ok(key)
    }

    /// Who may act: the first supervisor for themselves, after that the supervisors.
    fn acting(&self, by: &SignerId, change: &Change) -> Result<PublicKey, String> {
        if self.signers.is_empty() {
            return match change {
                Change::Enrolled(first)
                    if first.signer == *by && first.role == Role::Supervisor =>
                {
                    Ok(first.public_key)
                }
                _ => Err("the register is empty, and its first line must be a supervisor who \
                          enrols themselves"
                    .to_owned()),
            };
        }
        let acting = self.current(by)?;
        if acting.is_supervisor() {
            Ok(acting.public_key())
        } else {
            Err(format!("{by} is a {}; only a supervisor keeps the register", acting.role()))
        }
    }

    fn current(&self, signer: &SignerId) -> Result<&Signer, String> {
        match self.signer(signer) {
            None => Err(format!("{signer} is not enrolled")),
            Some(known) => match known.revoked {
                None => Ok(known),
                Some(revoked) => Err(format!("{signer} was revoked ({revoked})")),
            },
        }
    }

    fn is_last_supervisor(&self, signer: &Signer) -> bool {
        signer.is_supervisor()
            && self.signers.iter().filter(|other| other.is_supervisor()).count() == 1
    }

    fn apply(&mut self, change: Change, at: Stamp) {
        let standing = |role| Standing { line: self.lines.len(), at: at.instant(), role };
        match change {
            Change::Enrolled(enrolment) => {
                let standings = vec![standing(Some(enrolment.role))];
                self.signers.push(Signer { enrolment, enrolled: at, revoked: None, standings });
            }
            Change::RoleChanged { signer, role } => {
                let standing = standing(Some(role));
                if let Some(known) = self.signers.iter_mut().find(|known| *known.id() == signer) {
                    known.enrolment.role = role;
                    known.standings.push(standing);
                }
            }
            Change::Revoked { signer, reason: _ } => {
                let standing = standing(None);
                if let Some(known) = self.signers.iter_mut().find(|known| *known.id() == signer) {
                    known.revoked = Some(at);
                    known.standings.push(standing);
                }
            }
        }
    }
}

/// What is printed is neither blank nor moves the cursor.
fn check_text(what: &str, text: &str) -> Result<(), String> {
    if text.trim().is_empty() || text.chars().any(char::is_control) {
        return Err(format!("the {what} {text:?} is blank or holds control characters"));
    }
    Ok(())
}
