//! The plant's register of signers as its lines give it: a pure replay, in which every signature
//! and every rule is checked, and the answer to whether a signature elsewhere holds.

use crate::change::{Change, Enrolment, Qualification, RULES};
use crate::equipment::{EnteredBy, Equipment};
use crate::key::UnlockedKey;
use crate::person::{Act, Role, SignerId};
use crate::public_key::PublicKey;
use crate::verdict::Verdict;
use crate::violation::Violation;
use journal::{Digest, Line, Signature, Stamp};
use std::sync::Arc;
use trace::Instant;

/// Who may sign and who might, as of the last line.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Register {
    signers: Vec<Signer>,
    plant_files: Vec<Approval>,
    pending: Vec<Pending>,
    corrections: Vec<Correction>,
    /// Shared with every record that is checked against this register.
    equipment: Arc<Equipment>,
    lines: Vec<Digest>,
    /// Who made each line.
    authors: Vec<SignerId>,
    rules: u64,
}

/// A plant file that counts, or did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Approval {
    /// The file's name when it was approved.
    pub name: String,
    /// The SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
    /// The supervisor who approved it.
    pub by: SignerId,
    /// The supervisor who agreed, where there were two.
    pub second: Option<SignerId>,
    /// From when on it counts.
    pub at: Stamp,
    /// From when on it counts no longer.
    pub withdrawn: Option<Stamp>,
}

/// A change that takes effect when another supervisor agrees.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pending {
    /// Its line, from 1.
    pub line: u64,
    /// Who wants it.
    pub by: SignerId,
    /// When it was entered.
    pub at: Stamp,
    change: Change,
}

/// A clock that ran ahead, and who said so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Correction {
    /// The line, from 1.
    pub line: u64,
    /// The supervisor.
    pub by: SignerId,
    /// The right time.
    pub at: Stamp,
    /// What happened.
    pub reason: String,
}

impl Pending {
    /// The digest of the plant file that it would approve, hexadecimal; `None` where it is another
    /// change.
    pub fn plant_file(&self) -> Option<&str> {
        match &self.change {
            Change::PlantFileApproved { sha256, .. } => Some(sha256),
            _ => None,
        }
    }

    /// What it would do, in words.
    pub fn in_words(&self) -> String {
        match &self.change {
            Change::Enrolled(enrolment) => format!(
                "enrol {} ({}) as {}, key {}",
                enrolment.signer,
                enrolment.name,
                enrolment.role,
                enrolment.public_key.fingerprint()
            ),
            Change::RoleChanged { signer, role } => format!("make {signer} a {role}"),
            Change::PlantFileApproved { name, sha256 } => {
                format!("approve the plant file {name}, sha256 {sha256}")
            }
            _ => "change the register".to_owned(),
        }
    }
}

/// A signer as the register has them.
#[derive(Debug, Clone, PartialEq)]
pub struct Signer {
    enrolment: Enrolment,
    enrolled: Stamp,
    revoked: Option<Stamp>,
    /// What they are qualified for, in the order in which it was entered.
    qualifications: Vec<Qualification>,
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

    /// What they are qualified for, in the order in which it was entered.
    pub fn qualifications(&self) -> &[Qualification] {
        &self.qualifications
    }

    fn is_supervisor(&self) -> bool {
        self.revoked.is_none() && self.role() == Role::Supervisor
    }

    /// The standing after the line at `place`: `None` before the enrolment.
    fn standing_after(&self, place: usize) -> Option<Standing> {
        self.standings.iter().rev().find(|standing| standing.line <= place).copied()
    }

    /// Whether at `at` the signer had a role that might do `act`. Both ends of a role count.
    fn might(&self, act: Act, at: Instant) -> bool {
        let ends = self.standings.iter().skip(1).map(|next| Some(next.at)).chain([None]);
        self.standings.iter().zip(ends).any(|(standing, end)| {
            standing.role.is_some_and(|role| act.is_open_to(role))
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

    /// The first supervisor, by whose fingerprint one register is told from another.
    pub fn first(&self) -> Option<&Signer> {
        self.signers.first()
    }

    /// How many lines it has.
    pub fn len(&self) -> u64 {
        self.lines.len() as u64
    }

    /// Whether nobody has begun it.
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }

    /// The version of the rules that its next line follows.
    pub const fn rules(&self) -> u64 {
        self.rules
    }

    /// The digests of its lines, in order.
    pub fn digests(&self) -> impl Iterator<Item = Digest> + '_ {
        self.lines.iter().copied()
    }

    /// Whether its first `lines` lines end with the one of the digest `head`: an earlier state of it.
    pub fn was(&self, lines: u64, head: Digest) -> bool {
        begins_with(&self.lines, lines, head)
    }

    /// Whether `signer` made the last of the register's first `lines` lines, and `signature` over
    /// `bytes` is theirs. A supervisor who revokes themselves may still say that they did.
    pub(crate) fn is_author(
        &self,
        signer: &SignerId,
        lines: u64,
        (bytes, signature): (&[u8], &Signature),
    ) -> bool {
        let last = usize::try_from(lines).ok().and_then(|lines| lines.checked_sub(1));
        last.and_then(|last| self.authors.get(last)) == Some(signer)
            && self.signer(signer).is_some_and(|known| known.public_key().fits(bytes, signature))
    }

    /// The plant files that were approved, in order.
    pub fn plant_files(&self) -> &[Approval] {
        &self.plant_files
    }

    /// The approval of the plant file with this digest that was in force at `at`.
    pub fn plant_file_at(&self, sha256: &str, at: Instant) -> Option<&Approval> {
        self.plant_files.iter().find(|one| {
            one.sha256 == sha256
                && one.at.instant() <= at
                && one.withdrawn.is_none_or(|withdrawn| at <= withdrawn.instant())
        })
    }

    /// What waits for another supervisor.
    pub fn pending(&self) -> &[Pending] {
        &self.pending
    }

    /// The tests of the equipment and the seals.
    pub const fn equipment(&self) -> &Arc<Equipment> {
        &self.equipment
    }

    /// The clocks that ran ahead.
    pub fn corrections(&self) -> &[Correction] {
        &self.corrections
    }

    /// How many supervisors there are now.
    pub fn supervisors(&self) -> usize {
        self.signers.iter().filter(|signer| signer.is_supervisor()).count()
    }

    /// Whether somebody enrolled is one now.
    pub fn is_supervisor(&self, signer: &SignerId) -> bool {
        self.signer(signer).is_some_and(Signer::is_supervisor)
    }

    /// Whether somebody was enrolled at `at` and not revoked before. For lines that nobody signed.
    pub fn had(&self, signer: &SignerId, at: Instant) -> bool {
        self.signer(signer).is_some_and(|signer| signer.might(Act::Enter, at))
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

    /// Whether the holder of `key` may do `act` at `at`, naming the register's head. To be asked before
    /// something is signed for good.
    pub fn may_sign(&self, key: &UnlockedKey, act: impl Into<Act>, at: Stamp) -> Verdict {
        match self.signer(key.signer()) {
            Some(known) if known.public_key() != key.public_key() => Verdict::KeyDoesNotFit,
            _ => self.allows(key.signer(), act.into(), at, self.head()),
        }
    }

    /// Whether `signature` over `bytes` holds: the key of `signer` fits, and at the line of the
    /// register with the digest `head` and at the date `at` the signer might do `act`.
    pub fn check(
        &self,
        signer: &SignerId,
        act: impl Into<Act>,
        at: Stamp,
        head: Digest,
        bytes: &[u8],
        signature: &Signature,
    ) -> Verdict {
        match self.signer(signer) {
            Some(known) if !known.public_key().fits(bytes, signature) => Verdict::KeyDoesNotFit,
            _ => self.allows(signer, act.into(), at, head),
        }
    }

    fn allows(&self, signer: &SignerId, act: Act, at: Stamp, head: Digest) -> Verdict {
        let Some(signer) = self.signer(signer) else { return Verdict::UnknownSigner };
        let Some(place) = self.place(head) else { return Verdict::UnknownRegisterHead };
        let Some(standing) = signer.standing_after(place) else { return Verdict::NotYetEnrolled };
        let Some(role) = standing.role else { return Verdict::AlreadyRevoked };
        if !act.is_open_to(role) {
            return Verdict::RoleMayNot { role, act };
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
        if !signer.might(act, at.instant()) {
            return Verdict::RoleMightNotThen { act };
        }
        Verdict::Holds
    }

    fn place(&self, head: Digest) -> Option<usize> {
        self.lines.iter().position(|line| *line == head)
    }

    /// Enters the next line after checking it.
    pub(crate) fn enter(&mut self, line: &Line) -> Result<(), Violation> {
        let (by, change) = self
            .checked(line)
            .map_err(|why| Violation { line: self.lines.len() as u64 + 1, why })?;
        self.apply(by.clone(), change, line.at());
        self.lines.push(line.digest());
        self.authors.push(by);
        Ok(())
    }

    fn checked(&self, line: &Line) -> Result<(SignerId, Change), String> {
        let by = line.by().parse().map_err(|error: crate::Error| error.to_string())?;
        let change = Change::from_body(line.body())?;
        let key = self.admit(&by, &change)?;
        let signature = line.signature().ok_or("it is not signed")?;
        if !key.fits(&line.signed_bytes(), &signature) {
            return Err(format!("its signature does not fit the key of {by}"));
        }
        Ok((by, change))
    }

    /// Whether `by` may make `change` now; gives the key that must sign it.
    pub(crate) fn admit(&self, by: &SignerId, change: &Change) -> Result<PublicKey, String> {
        let key = self.acting(by, change)?;
        match change {
            Change::Begun { rules, name, .. } => {
                if !self.is_empty() {
                    return Err("the register has begun already".to_owned());
                }
                known_rules(*rules)?;
                check_text("name", name)?;
            }
            Change::RulesChanged { rules } => {
                known_rules(*rules)?;
                if *rules <= self.rules {
                    return Err(format!("the register follows the rules {} already", self.rules));
                }
            }
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
            Change::PlantFileApproved { name, sha256 } => {
                check_text("name", name)?;
                sha256.parse::<Digest>().map_err(|cause| cause.to_string())?;
                if self.in_force(sha256).is_some() {
                    return Err(format!(
                        "the plant file {name} with this digest is approved already"
                    ));
                }
            }
            Change::PlantFileWithdrawn { sha256, reason } => {
                check_text("reason", reason)?;
                if self.in_force(sha256).is_none() {
                    return Err("no plant file with this digest is approved".to_owned());
                }
            }
            Change::Seconded { line } => {
                let pending = self.pending_line(*line)?;
                if pending.by == *by {
                    return Err(format!(
                        "line {line} was entered by {by}; another supervisor agrees to it"
                    ));
                }
                if !self.is_supervisor(&pending.by) {
                    return Err(format!(
                        "{}, who entered line {line}, is no supervisor any more",
                        pending.by
                    ));
                }
                self.admit(&pending.by, &pending.change)?;
            }
            Change::Tested(tested) => {
                check_texts([
                    ("pasteurizer", &tested.unit),
                    ("figure", &tested.figure),
                    ("limit", &tested.limit),
                    ("name of who tested", &tested.tested_by),
                ])?;
            }
            Change::Sealed(sealed) => {
                check_texts([
                    ("pasteurizer", &sealed.unit),
                    ("part", &sealed.part),
                    ("number of the seal", &sealed.seal),
                    ("name of who applied it", &sealed.applied_by),
                ])?;
                self.equipment.allows_seal(sealed)?;
            }
            Change::SealBroken(broken) => {
                check_texts([
                    ("name of who broke it", &broken.broken_by),
                    ("reason", &broken.reason),
                ])?;
                self.equipment.allows_breaking(broken)?;
            }
            Change::Qualified(qualification) => {
                self.current(&qualification.signer)?;
                check_text("qualification", &qualification.qualification)?;
            }
            Change::ClockCorrected { reason } => check_text("reason", reason)?,
        }
        Ok(key)
    }

    fn in_force(&self, sha256: &str) -> Option<usize> {
        self.plant_files.iter().position(|one| one.sha256 == sha256 && one.withdrawn.is_none())
    }

    fn pending_line(&self, line: u64) -> Result<&Pending, String> {
        let found = self.pending.iter().find(|pending| pending.line == line);
        found.ok_or_else(|| format!("line {line} does not wait for another supervisor"))
    }

    /// Whether a change takes effect only when another supervisor agrees: what gives somebody else's
    /// word the weight of a supervisor's, or sets the limits, where there are two.
    pub(crate) fn needs_second(&self, change: &Change) -> bool {
        let weighs = match change {
            Change::Enrolled(enrolment) => enrolment.role == Role::Supervisor,
            Change::RoleChanged { .. } | Change::PlantFileApproved { .. } => true,
            _ => false,
        };
        weighs && self.rules >= 2 && self.supervisors() >= 2
    }

    /// Who may act: the first supervisor for themselves, after that the supervisors.
    fn acting(&self, by: &SignerId, change: &Change) -> Result<PublicKey, String> {
        if self.is_empty() {
            return match change {
                // So registers began under the first rules.
                Change::Enrolled(first)
                    if first.signer == *by && first.role == Role::Supervisor =>
                {
                    Ok(first.public_key)
                }
                Change::Begun { signer, public_key, .. } if signer == by => Ok(*public_key),
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

    fn apply(&mut self, by: SignerId, change: Change, at: Stamp) {
        if self.needs_second(&change) {
            let line = self.lines.len() as u64 + 1;
            self.pending.push(Pending { line, by, at, change });
        } else {
            self.take_effect(by, None, change, at);
        }
    }

    fn take_effect(&mut self, by: SignerId, second: Option<SignerId>, change: Change, at: Stamp) {
        let line = self.lines.len();
        let standing = |role| Standing { line, at: at.instant(), role };
        match change {
            Change::Begun { rules, signer, name, public_key } => {
                self.rules = rules;
                let enrolment = Enrolment { signer, name, role: Role::Supervisor, public_key };
                let standings = vec![standing(Some(Role::Supervisor))];
                self.signers.push(Signer {
                    enrolment,
                    enrolled: at,
                    revoked: None,
                    qualifications: Vec::new(),
                    standings,
                });
            }
            Change::RulesChanged { rules } => self.rules = rules,
            Change::Enrolled(enrolment) => {
                self.rules = self.rules.max(1);
                let standings = vec![standing(Some(enrolment.role))];
                self.signers.push(Signer {
                    enrolment,
                    enrolled: at,
                    revoked: None,
                    qualifications: Vec::new(),
                    standings,
                });
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
            Change::PlantFileApproved { name, sha256 } => {
                let withdrawn = None;
                self.plant_files.push(Approval { name, sha256, by, second, at, withdrawn });
            }
            Change::PlantFileWithdrawn { sha256, reason: _ } => {
                let place = self.in_force(&sha256);
                if let Some(one) = place.and_then(|place| self.plant_files.get_mut(place)) {
                    one.withdrawn = Some(at);
                }
            }
            Change::Seconded { line } => {
                let place = self.pending.iter().position(|pending| pending.line == line);
                if let Some(pending) = place.map(|place| self.pending.remove(place)) {
                    self.take_effect(pending.by, Some(by), pending.change, at);
                }
            }
            Change::Tested(tested) => {
                let entered = EnteredBy { by, at, line: line as u64 + 1 };
                Arc::make_mut(&mut self.equipment).add_test(tested, entered);
            }
            Change::Sealed(sealed) => {
                let entered = EnteredBy { by, at, line: line as u64 + 1 };
                Arc::make_mut(&mut self.equipment).add_seal(sealed, entered);
            }
            Change::SealBroken(broken) => {
                let entered = EnteredBy { by, at, line: line as u64 + 1 };
                Arc::make_mut(&mut self.equipment).break_seal(broken, entered);
            }
            Change::Qualified(qualification) => {
                let of = |known: &&mut Signer| *known.id() == qualification.signer;
                if let Some(known) = self.signers.iter_mut().find(of) {
                    known.qualifications.push(qualification);
                }
            }
            Change::ClockCorrected { reason } => {
                self.corrections.push(Correction { line: line as u64 + 1, by, at, reason });
            }
        }
    }
}

/// Whether the first `count` of a file's lines end with the one of the digest `head`.
pub(crate) fn begins_with(lines: &[Digest], count: u64, head: Digest) -> bool {
    match usize::try_from(count) {
        Ok(0) => head == Digest::NONE,
        Ok(count) => lines.get(count - 1) == Some(&head),
        Err(_) => false,
    }
}

/// A register of a newer program says what this one does not know.
fn known_rules(rules: u64) -> Result<(), String> {
    if rules == RULES {
        return Ok(());
    }
    Err(format!("it follows rules {rules}, this program knows rules {RULES}: use a newer program"))
}

/// See [`check_text`]; the first that is wrong is told.
fn check_texts<const COUNT: usize>(texts: [(&str, &String); COUNT]) -> Result<(), String> {
    texts.into_iter().try_for_each(|(what, text)| check_text(what, text))
}

/// What is printed is neither blank nor moves the cursor.
fn check_text(what: &str, text: &str) -> Result<(), String> {
    if text.trim().is_empty() || text.chars().any(char::is_control) {
        return Err(format!("the {what} {text:?} is blank or holds control characters"));
    }
    Ok(())
}
