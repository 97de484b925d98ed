//! The dialog of the operator: what was seen on the day is added to the operators' entries, one after the other,
//! and signed at the end of the shift. It writes to a file of its own and to the ledger, not to the review.

use super::people::{Done, Failed, check_books, check_clock};
use super::proof::{Proof, With, refused};
use super::words;
use crate::action::{Action, Actions};
use crate::clock::{Clock, DiskClock, minute};
use crate::job::Job;
use crate::theme::card::{self, figure};
use crate::theme::{GAP, Look, Type, widgets};
use crate::why::Why;
use ::review::EntriesSigned;
use archive::Trust;
use case::Case;
use egui::{Id, Ui, vec2};
use ingest::NewEntry;
use signers::{KeyFolder, UnlockedKey};
use std::path::PathBuf;
use trace::{EntryKind, TemperatureUnit, Unit as _};

/// What is asked for in the dialog.
pub struct Entries {
    /// The file, which need not be there yet; `None` where the record has no name.
    path: Option<PathBuf>,
    time: String,
    kind: EntryKind,
    reading: String,
    by: String,
    note: String,
    message: Option<String>,
    told: Option<String>,
    /// Whether something was written that the day does not show yet.
    is_changed: bool,
    begun: bool,
    proof: Proof,
    signing: Option<Job<Result<Done, Failed>>>,
    clock_is_right: bool,
}

/// What the dialog is drawn from.
pub struct About<'a> {
    /// The audited record.
    pub case: &'a Case,
    /// Where the register of signers lies, and who signed the entries; `None` while the review is not open.
    pub books: Option<(PathBuf, &'a EntriesSigned)>,
    /// The user's keys; `None` where there is no folder for them.
    pub keys: Option<KeyFolder>,
    /// The clock.
    pub clock: Clock,
    /// What was seen of the books before.
    pub trust: Trust,
    /// The clock of the disk.
    pub disk: DiskClock,
}

impl Entries {
    /// The dialog about the file at `path`; `by` is the name of who is at work, if anybody.
    pub fn new(path: Option<PathBuf>, by: &str) -> Self {
        Self {
            path,
            time: String::new(),
            kind: EntryKind::Indicating,
            reading: String::new(),
            by: by.to_owned(),
            note: String::new(),
            message: None,
            told: None,
            is_changed: false,
            begun: false,
            proof: Proof::below(""),
            signing: None,
            clock_is_right: false,
        }
    }

    /// Whether the entries are being signed.
    pub const fn is_busy(&self) -> bool {
        self.proof.is_busy() || self.signing.is_some()
    }

    /// Draws the dialog.
    pub fn show(&mut self, ui: &Ui, look: Look, about: &About<'_>, actions: &mut Actions) {
        self.poll(ui, about);
        let mut closed = false;
        let ends = card::dialog(ui, look, "operators' entries", 560.0, |ui| {
            ui.spacing_mut().item_spacing = vec2(GAP, 5.0);
            ui.label(Type::Title.text("Operators\u{2019} entries", look.colors.ink));
            self.form(ui, look, about);
            if let Some(told) = &self.told {
                ui.add(egui::Label::new(Type::Strong.text(told, look.colors.ink)).wrap());
            }
            ui.separator();
            self.signature(ui, look, about);
            if let Some(message) = &self.message {
                refused(ui, look, message);
            }
            ui.add_space(GAP);
            closed = widgets::button(ui, look, "Close", "Esc").clicked();
        });
        if (closed || ends) && !self.is_busy() {
            actions.push(Action::Close);
            if self.is_changed {
                actions.push(Action::ReadAgain);
            }
        }
    }

    fn form(&mut self, ui: &mut Ui, look: Look, about: &About<'_>) {
        let id = |name: &str| Id::unique(("operators' entry", name));
        let unit = unit(about.case);
        let mut fields = Vec::new();
        ui.columns(2, |columns| {
            let [left, right] = columns else { return };
            let name = "Time, YYYY-MM-DD HH:MM";
            let time = words::plain(left, look, id("time"), name, &mut self.time);
            fields.push((time, self.time.trim().is_empty()));
            let by = words::plain(right, look, id("by"), "Made by", &mut self.by);
            fields.push((by, self.by.trim().is_empty()));
        });
        if let Some((time, _)) = fields.first()
            && !std::mem::replace(&mut self.begun, true)
        {
            if self.time.is_empty() {
                let date = about.case.plant().zone.date(about.case.record().interval().start());
                self.time = format!("{date} ");
            }
            time.request_focus();
        }
        ui.horizontal_wrapped(|ui| {
            for kind in EntryKind::ALL {
                if widgets::toggle(ui, look, self.kind == kind, kind.name()).clicked() {
                    self.kind = kind;
                }
            }
        });
        if self.kind.is_reading() {
            let name = format!("Reading, {}", unit.symbol());
            let reading = words::plain(ui, look, id("reading"), &name, &mut self.reading);
            fields.push((reading, self.reading.trim().is_empty()));
        }
        let note = words::plain(ui, look, id("note"), "Note", &mut self.note);
        fields.push((note, !self.kind.is_reading() && self.note.trim().is_empty()));
        let entered = words::is_submitted(ui, &fields);
        if widgets::primary_button(ui, look, "Add the entry", "Enter").clicked() || entered {
            (self.message, self.told) = (None, None);
            match self.add(about, unit) {
                Ok(told) => self.told = Some(told),
                Err(why) => self.message = Some(why.into()),
            }
        }
    }

    fn add(&mut self, about: &About<'_>, unit: TemperatureUnit) -> Result<String, Why> {
        let path = self.path.as_ref().ok_or("the record has no file to keep them beside")?;
        let entry = NewEntry {
            time: self.time.clone(),
            kind: self.kind,
            // What was typed for another kind is kept and not written.
            reading: if self.kind.is_reading() { self.reading.clone() } else { String::new() },
            by: self.by.clone(),
            note: self.note.clone(),
        };
        archive::add_entry(path, &entry, unit, about.case.plant())?;
        self.is_changed = true;
        (self.reading, self.note) = (String::new(), String::new());
        // The next one begins with its time.
        self.begun = false;
        let NewEntry { time, kind, reading, note, .. } = entry;
        let said =
            [kind.name(), reading.trim(), note.trim()].into_iter().filter(|one| !one.is_empty());
        Ok(format!("Added: {}, {}.", time.trim(), said.collect::<Vec<_>>().join(" ")))
    }

    fn signature(&mut self, ui: &mut Ui, look: Look, about: &About<'_>) {
        let Some((_, signed)) = &about.books else {
            refused(ui, look, "the review is not open, so nothing can be signed");
            return;
        };
        let standing = match signed {
            _ if self.is_changed => {
                "changed just now: sign them again when all entries are made".to_owned()
            }
            EntriesSigned::Nobody => "none".to_owned(),
            EntriesSigned::By(words) => words.clone(),
            EntriesSigned::ChangedSince(words) => format!("{words}; changed since"),
            EntriesSigned::Unknown(why) => format!("can\u{2019}t be checked: {why}"),
        };
        figure(ui, look, "Signature", &standing);
        if let Some(now) = about.clock.stamp(about.case.plant().zone) {
            figure(ui, look, "Date and time", &minute(now));
        }
        let with = With {
            keys: about.keys.as_ref(),
            signer: None,
            now: about.clock.now(),
            button: "Sign the entries",
            working: "Signing\u{2026}",
        };
        self.proof.show(ui, look, &with, |_| Ok(()));
    }

    /// Takes in what came of signing.
    fn poll(&mut self, ui: &Ui, about: &About<'_>) {
        if let Some(key) = self.proof.poll(ui.ctx()) {
            (self.message, self.told) = (None, None);
            match self.sign(ui.ctx(), about, key) {
                Ok(job) => self.signing = Some(job),
                Err(why) => self.message = Some(why.into()),
            }
        }
        let lost = || "that could not be done; try again".to_owned().into();
        match Job::take(&mut self.signing, ui.ctx(), lost) {
            None => {}
            Some(Ok(done)) => (self.told, self.is_changed) = (Some(done.told), true),
            Some(Err(Failed { why, by_clock })) => {
                self.message = Some(why);
                self.clock_is_right |= by_clock;
            }
        }
    }

    fn sign(
        &self,
        context: &egui::Context,
        about: &About<'_>,
        key: UnlockedKey,
    ) -> Result<Job<Result<Done, Failed>>, Why> {
        let path = self.path.clone().ok_or("the record has no file to keep them beside")?;
        let (register, _) = about.books.as_ref().ok_or("the review is not open")?;
        let plant = about.case.plant().clone();
        let at = about.clock.stamp(plant.zone).ok_or("the clock shows no usable time")?;
        let (register, trust) = (register.clone(), about.trust.clone());
        let (disk, is_right) = (about.disk, self.clock_is_right);
        Ok(Job::begin(context, move || {
            check_clock(disk, &register, is_right)?;
            let books = check_books(&trust, &register)?;
            let signed = archive::sign_entries(&path, &plant, &books, (&key, at));
            let count = signed.map_err(|cause| Failed::from(cause.to_string()))?;
            let told = format!("{count} entries are signed by {}.", key.signer());
            Ok(Done { told, person: None, public_key: None })
        }))
    }
}

/// The unit of the readings: that of the file, else of the record.
fn unit(case: &Case) -> TemperatureUnit {
    let entries = case.record().operator_entries().map(trace::OperatorEntries::entries);
    let read = entries.into_iter().flatten().find_map(|one| one.reading);
    read.map_or_else(|| case.record().holding_temperature().unit(), |(_, unit)| unit)
}
