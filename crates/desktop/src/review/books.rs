//! The page of the people's dialog about the plant's books: whose register it is, which plant files are
//! approved, what waits for a second supervisor, and the ledger. What is changed here, a supervisor
//! proves with their passphrase.

use super::equipment::{EquipmentEntry, EquipmentForm, standings};
use super::people::{About, Done, Failed, check_books, check_clock};
use super::proof::{Proof, With, refused};
use super::seen::Seen;
use super::words;
use crate::clock::minute;
use crate::job::Job;
use crate::theme::card::{figure, title};
use crate::theme::{GAP, Look, Type, widgets};
use crate::why::Why;
use archive::{Stock, Trust};
use egui::{Context, Id, ScrollArea, Ui};
use journal::Stamp;
use signers::{LedgerFile, Pending, Register, RegisterFile, Stood, UnlockedKey};
use std::path::{Path, PathBuf};

/// What a supervisor means to do.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Wish {
    /// To approve the plant file in use: its name and digest.
    Approve(String, String),
    /// To agree to what another supervisor entered in that line.
    Agree(u64),
    /// To take stock.
    Stock,
    /// To say that the clock ran ahead by which the register was dated.
    Clock,
    /// To enter a test of the equipment or a seal.
    Equipment(EquipmentEntry),
}

impl Wish {
    fn sentence(&self) -> String {
        match self {
            Self::Approve(name, sha256) => format!(
                "Records audited with the limits of {name} (SHA-256 {}\u{2026}) count from now on. Read the plant file first.",
                short(sha256)
            ),
            Self::Agree(line) => {
                format!("Line {line} of the register takes effect with your signature.")
            }
            Self::Stock => {
                "The journals below are accepted as they are. Anything cut off from them after this is noticed."
                    .to_owned()
            }
            Self::Clock => {
                "Lines of the register or the ledger are dated in the future, so nothing can be entered after them. Set the clock right first."
                    .to_owned()
            }
            Self::Equipment(entry) => entry.sentence(),
        }
    }

    const fn button(&self) -> &'static str {
        match self {
            Self::Approve(..) => "Approve the plant file",
            Self::Agree(_) => "Agree",
            Self::Stock => "Take stock",
            Self::Clock => "Correct the clock",
            Self::Equipment(_) => "Sign and enter",
        }
    }

    const fn needs_reason(&self) -> bool {
        matches!(self, Self::Stock | Self::Clock)
    }
}

/// What is asked for on the page.
pub(super) struct BooksPage {
    wish: Option<Wish>,
    reason: String,
    proof: Proof,
    stock: Option<Result<Stock, Why>>,
    looking: Option<Job<Result<Stock, Why>>>,
    equipment: EquipmentForm,
}

impl Default for BooksPage {
    fn default() -> Self {
        Self {
            wish: None,
            reason: String::new(),
            proof: Proof::new(),
            stock: None,
            looking: None,
            equipment: EquipmentForm::default(),
        }
    }
}

impl BooksPage {
    pub(super) const fn is_busy(&self) -> bool {
        self.proof.is_busy() || self.looking.is_some()
    }

    /// Begins with the approval of the plant file in use, where there is one that is not approved.
    pub(super) fn offer_approval(&mut self, seen: &Seen, supervisor: &str) {
        if let Some(wish) = approval(seen) {
            self.wish(wish, supervisor);
        }
    }

    fn wish(&mut self, wish: Wish, supervisor: &str) {
        self.proof = Proof::begun_with(supervisor);
        self.reason.clear();
        self.wish = Some(wish);
    }

    /// What was wished for is done.
    pub(super) fn forget(&mut self) {
        *self = Self::default();
    }

    /// Draws the page; the work that was begun on it.
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        look: Look,
        about: &About<'_>,
        clock_is_right: bool,
    ) -> Option<Result<Job<Result<Done, Failed>>, Why>> {
        self.take_in_stock(ui.ctx());
        let seen = about.review.seen()?;
        let Some(register) = seen.register() else {
            let why = seen.books.register.as_ref().err().map_or("", String::as_str);
            refused(ui, look, why);
            return None;
        };
        let mut began = None;
        if let Some(key) = self.proof.poll(ui.ctx()) {
            began = Some(self.begin(ui.ctx(), about, (seen, clock_is_right), key));
        }
        // What is out of view can't be reached with Tab, so the form stands below what scrolls.
        let taken = if self.equipment.is_open() && self.wish.is_none() { 560.0 } else { 300.0 };
        let most = (ui.ctx().content_rect().height() - taken).max(160.0);
        let (unit, today) = (seen.state.subject().unit.as_str(), about.clock.today());
        ScrollArea::vertical().id_salt("books").max_height(most).show(ui, |ui| {
            ui.set_width(ui.available_width());
            figures(ui, look, seen, register);
            self.plant_files(ui, look, about, (seen, register));
            self.waiting(ui, look, about, register);
            standings(ui, look, (unit, today), register.equipment(), about.plant);
            self.ledger(ui, look, about, seen);
        });
        if self.wish.is_none()
            && let Some(entry) = self.equipment.show(ui, look, unit, about.zone)
        {
            self.wish(Wish::Equipment(entry), about.supervisor().as_str());
        }
        if self.wish.is_some() {
            self.prove(ui, look, about);
        }
        began
    }

    fn plant_files(
        &mut self,
        ui: &mut Ui,
        look: Look,
        about: &About<'_>,
        (seen, register): (&Seen, &Register),
    ) {
        ui.add_space(GAP);
        title(ui, look, "Approved plant files", None);
        for one in register.plant_files() {
            let second = one.second.as_ref().map_or_else(String::new, |by| format!(" and {by}"));
            let until =
                one.withdrawn.map_or_else(String::new, |at| format!(", withdrawn {}", minute(at)));
            let in_use = seen.state.subject().plant_file.as_ref();
            let in_use =
                if in_use.is_some_and(|file| file.sha256 == one.sha256) { " (in use)" } else { "" };
            let text = format!(
                "{}, SHA-256 {}\u{2026}{in_use}: {}{second}, {}{until}",
                one.name,
                short(&one.sha256),
                one.by,
                minute(one.at)
            );
            line(ui, look, &text);
        }
        if register.plant_files().is_empty() {
            line(ui, look, "none");
        }
        if let Some(wish) = approval(seen)
            && widgets::button(ui, look, "Approve the plant file in use", "").clicked()
        {
            self.wish(wish, about.supervisor().as_str());
        }
    }

    fn waiting(&mut self, ui: &mut Ui, look: Look, about: &About<'_>, register: &Register) {
        if register.pending().is_empty() {
            return;
        }
        ui.add_space(GAP);
        title(ui, look, "Waits for a second supervisor", None);
        for pending in register.pending() {
            let Pending { line: number, by, at, .. } = pending;
            let text = format!("Line {number}, {by}, {}: {}", minute(*at), pending.in_words());
            line(ui, look, &text);
            let (text, name) = ("Agree", format!("Agree to line {number}"));
            if widgets::named_button(ui, look, text, &name).clicked() {
                let supervisor = about.supervisor();
                // Whoever entered it is the one who can't.
                let supervisor = if supervisor == by.as_str() { "" } else { &supervisor };
                self.wish(Wish::Agree(*number), supervisor);
            }
        }
    }

    fn ledger(&mut self, ui: &mut Ui, look: Look, about: &About<'_>, seen: &Seen) {
        if seen.lacks_ledger() && seen.books.alarms.is_empty() {
            ui.add_space(GAP);
            title(ui, look, "There is no ledger yet", None);
            if self.stock.is_none() && self.looking.is_none() {
                let text = "Check the journals and take stock";
                if widgets::button(ui, look, text, "").clicked() {
                    self.look(ui.ctx(), seen, about.trust.clone());
                }
            } else if self.looking.is_some() {
                line(ui, look, "Searching the folder\u{2026}");
            }
            let chosen = match &self.stock {
                None => false,
                Some(Err(why)) => {
                    refused(ui, look, why);
                    false
                }
                Some(Ok(stock)) => {
                    journals(ui, look, stock);
                    self.wish.is_none()
                }
            };
            if chosen {
                self.wish(Wish::Stock, about.supervisor().as_str());
            }
        }
        ui.add_space(GAP);
        if widgets::button(ui, look, "A clock was ahead", "").clicked() {
            self.wish(Wish::Clock, about.supervisor().as_str());
        }
    }

    fn look(&mut self, context: &Context, seen: &Seen, trust: Trust) {
        let register = seen.register_path.clone();
        self.looking = Some(Job::begin(context, move || {
            let folder = folder_of(&register);
            let stock = archive::stock(&folder, (&register, &[]), &trust);
            stock.map_err(Why::from)
        }));
    }

    fn take_in_stock(&mut self, context: &Context) {
        let lost = || "that could not be done; try again".into();
        if let Some(found) = Job::take(&mut self.looking, context, lost) {
            self.stock = Some(found);
        }
    }

    fn prove(&mut self, ui: &mut Ui, look: Look, about: &About<'_>) {
        let Some(wish) = self.wish.clone() else { return };
        ui.separator();
        ui.add(egui::Label::new(Type::Body.text(wish.sentence(), look.colors.ink)).wrap());
        if wish.needs_reason() {
            let id = Id::unique("reason for the books");
            let field = words::plain(ui, look, id, "Reason", &mut self.reason);
            if words::is_entered(ui, &field) {
                self.proof.ask();
            }
        }
        let with = With {
            keys: about.keys.as_ref(),
            signer: None,
            now: about.clock.now(),
            button: wish.button(),
            working: "Working\u{2026}",
        };
        let has_reason = !wish.needs_reason() || !self.reason.trim().is_empty();
        self.proof.show(ui, look, &with, |_| {
            if has_reason { Ok(()) } else { Err("enter a reason".into()) }
        });
    }

    /// Begins what was wished for.
    fn begin(
        &mut self,
        context: &Context,
        about: &About<'_>,
        (seen, clock_is_right): (&Seen, bool),
        key: UnlockedKey,
    ) -> Result<Job<Result<Done, Failed>>, Why> {
        let wish = self.wish.clone().ok_or("nothing is selected")?;
        let at = about.clock.stamp(about.zone).ok_or("the clock shows no usable time")?;
        let journals = match &self.stock {
            Some(Ok(stock)) => stock.journals.iter().map(|(stood, _)| stood.clone()).collect(),
            _ => Vec::new(),
        };
        let (path, reason) = (seen.register_path.clone(), self.reason.trim().to_owned());
        let (disk, trust) = (about.disk, about.trust.clone());
        Ok(Job::begin(context, move || {
            check_clock(disk, &path, clock_is_right)?;
            check_books(&trust, &path)?;
            let told = carry_out(&wish, &path, (&reason, journals), (&key, at))?;
            Ok(Done { told, person: None, public_key: None })
        }))
    }
}

fn carry_out(
    wish: &Wish,
    path: &Path,
    (reason, journals): (&str, Vec<Stood>),
    (key, at): (&UnlockedKey, Stamp),
) -> Result<String, signers::Error> {
    let (mut register, _torn) = RegisterFile::open(path)?;
    match wish {
        Wish::Approve(name, sha256) => {
            register.approve_plant_file(name, sha256, key, at)?;
            Ok(if register.waits() {
                format!("{name} is entered. It counts when another supervisor agrees to it.")
            } else {
                format!("The limits of {name} are approved.")
            })
        }
        Wish::Agree(line) => {
            register.second(*line, key, at)?;
            Ok(format!("Line {line} of the register is in force."))
        }
        Wish::Stock => {
            let mut ledger = LedgerFile::open(&LedgerFile::beside(path), register.register())?;
            let count = journals.len();
            ledger.take_stock((reason, journals), register.register(), key, at)?;
            let head = ledger.ledger().head().to_string();
            Ok(format!("Stock is taken of {count} journals. Ledger: {}\u{2026}", short(&head)))
        }
        Wish::Equipment(entry) => entry.enter(&mut register, (key, at)),
        Wish::Clock => {
            register.correct_clock(reason, key, at)?;
            Ok("The clock is corrected.".to_owned())
        }
    }
}

/// The approval that the plant file in use lacks; `None` where it has one, or waits for another
/// supervisor.
fn approval(seen: &Seen) -> Option<Wish> {
    seen.unapproved_file.as_ref().map(|file| Wish::Approve(file.name.clone(), file.sha256.clone()))
}

fn figures(ui: &mut Ui, look: Look, seen: &Seen, register: &Register) {
    if let Some(first) = register.first() {
        figure(ui, look, "Created by", &format!("{} ({})", first.name(), first.id()));
        figure(ui, look, "Fingerprint", &first.public_key().fingerprint());
    }
    let head = register.head().to_string();
    let text = format!("{} lines, last {}\u{2026}", register.len(), short(&head));
    figure(ui, look, "Register", &text);
    let text = match &seen.books.ledger {
        Ok(Some(ledger)) => {
            format!("{} lines, last {}\u{2026}", ledger.len(), short(&ledger.head().to_string()))
        }
        Ok(None) => "none yet".to_owned(),
        Err(why) => why.clone(),
    };
    figure(ui, look, "Ledger", &text);
}

/// The journals that are accepted, and those that are not.
fn journals(ui: &mut Ui, look: Look, stock: &Stock) {
    for (stood, stage) in &stock.journals {
        line(ui, look, &format!("{}, {} lines, {}", stood.journal, stood.lines, stage.name()));
    }
    if stock.journals.is_empty() {
        line(ui, look, "no journal is to be accepted");
    }
    for left in &stock.left {
        let text = format!("not accepted: {left}");
        let text = Type::Body.text(text, look.colors.alert);
        ui.add(egui::Label::new(text).wrap().selectable(true));
    }
}

fn line(ui: &mut Ui, look: Look, text: &str) {
    let text = Type::Body.text(text, look.colors.ink);
    ui.add(egui::Label::new(text).wrap().selectable(true));
}

/// As much of a digest as is compared with the eye.
fn short(digest: &str) -> &str {
    digest.get(..16).unwrap_or(digest)
}

/// The folder of a file.
fn folder_of(file: &Path) -> PathBuf {
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    }
}
