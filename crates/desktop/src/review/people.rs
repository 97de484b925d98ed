//! The dialog of the people: who is at work, the first supervisor's set-up, a key of one's own,
//! enrolling, and the plant's books. Keys are made and unlocked off the thread that draws.

use super::books::BooksPage;
use super::proof::refused;
use super::secret::Secret;
use super::seen::Seen;
use super::state::Review;
use super::words;
use crate::action::{Action, Actions, Work};
use crate::clock::{Clock, DiskClock};
use crate::dialogs::Purpose;
use crate::job::Job;
use crate::theme::card;
use crate::theme::{GAP, Look, Type, widgets};
use crate::why::Why;
use ::review::Role;
use archive::Trust;
use egui::accesskit::Role as Access;
use egui::{Id, Sense, Ui, WidgetInfo, vec2};
use journal::Stamp;
use plant::{Plant, Zone};
use signers::{Books, Cost, Enrolment, KeyFolder, Passphrase, PublicKey, RegisterFile, SignerId};
use std::path::Path;
use trace::Instant;

/// A page of the dialog.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Page {
    /// Who is at work.
    Choose,
    /// The first supervisor begins the register.
    SetUp,
    /// A key of one's own.
    Key,
    /// Somebody is enrolled.
    Enrol,
    /// The register of signers, approved plant files and the ledger.
    Books,
}

/// What is asked for in the dialog.
pub struct People {
    page: Page,
    identifier: String,
    name: String,
    role: Role,
    public_key: String,
    supervisor: String,
    secret: Secret,
    again: Secret,
    message: Option<String>,
    done: Option<String>,
    books: BooksPage,
    /// Whether the approval of the plant file in use is offered once the new register is read.
    offers_approval: bool,
    work: Option<Job<Result<Done, Failed>>>,
    /// Whether somebody was told that the clocks differ: who goes on then says that this one is right.
    clock_is_right: bool,
    begun: bool,
}

/// What became of the work.
pub(super) struct Done {
    pub(super) told: String,
    /// Who is at work from now on.
    pub(super) person: Option<SignerId>,
    pub(super) public_key: Option<String>,
}

/// Why the work was not done.
pub(super) struct Failed {
    pub(super) why: String,
    /// Whether only the clock stood in the way.
    pub(super) by_clock: bool,
}

impl From<String> for Failed {
    fn from(why: String) -> Self {
        Self { why, by_clock: false }
    }
}

impl From<signers::Error> for Failed {
    fn from(cause: signers::Error) -> Self {
        cause.to_string().into()
    }
}

/// What the dialog is drawn from.
pub struct About<'a> {
    /// The review.
    pub review: &'a Review,
    /// Who is at work.
    pub person: Option<&'a str>,
    /// The user's keys; `None` where there is no folder for them.
    pub keys: Option<KeyFolder>,
    /// The clock.
    pub clock: Clock,
    /// The plant's zone.
    pub zone: Zone,
    /// The plant.
    pub plant: &'a Plant,
    /// What was seen of the books before.
    pub trust: Trust,
    /// The clock of the disk.
    pub disk: DiskClock,
}

impl About<'_> {
    /// The identifier of who is at work, where that is a supervisor; else blank.
    pub(super) fn supervisor(&self) -> String {
        let person = self.person.and_then(|id| self.review.signer(id));
        let person = person.filter(|person| person.role() == Role::Supervisor);
        person.map_or_else(String::new, |person| person.id().to_string())
    }
}

impl People {
    /// The dialog on a page: it begins with the set-up while there is no register at all.
    pub fn new(review: &Review, page: Page, message: Option<&str>) -> Self {
        let nobody = review.seen().is_some_and(|seen| {
            !seen.register_is_gone()
                && seen.register().map_or(!seen.has_register, |one| one.signers().is_empty())
        });
        Self {
            page: if nobody { Page::SetUp } else { page },
            identifier: String::new(),
            name: String::new(),
            role: Role::Technician,
            public_key: String::new(),
            supervisor: String::new(),
            secret: Secret::default(),
            again: Secret::default(),
            message: message.map(str::to_owned),
            done: None,
            books: BooksPage::default(),
            offers_approval: false,
            work: None,
            clock_is_right: false,
            begun: false,
        }
    }

    /// Whether a key is being made or unlocked.
    pub const fn is_busy(&self) -> bool {
        self.work.is_some() || self.books.is_busy()
    }

    /// Takes a public key in that was read from a file.
    pub fn take_file(&mut self, path: &Path) {
        let read = disk::read(path, PublicKey::LARGEST_FILE, disk::Links::Follow)
            .and_then(|bytes| String::from_utf8(bytes).map_err(std::io::Error::other));
        match read {
            Ok(text) => self.public_key = text,
            Err(cause) => {
                self.message = Some(format!("{}: can't be read ({cause})", path.display()));
            }
        }
    }

    /// Draws the dialog.
    pub fn show(&mut self, ui: &Ui, look: Look, about: &About<'_>, actions: &mut Actions) {
        let (mut closed, mut changed) = (false, false);
        let lost = || "that could not be done; try again".to_owned().into();
        match Job::take(&mut self.work, ui.ctx(), lost) {
            None => {}
            Some(Ok(done)) => {
                self.done = Some(done.told);
                if let Some(key) = done.public_key {
                    self.public_key = key;
                } else {
                    changed = true;
                    if let Some(person) = done.person {
                        actions.push(Action::Person(person));
                    }
                    actions.push(Action::Enter(Work::Reload, None));
                }
                match self.page {
                    Page::SetUp => {
                        self.identifier.clear();
                        self.name.clear();
                        self.go(Page::Books);
                        self.offers_approval = true;
                    }
                    Page::Books => self.books.forget(),
                    Page::Choose | Page::Key | Page::Enrol => {}
                }
            }
            Some(Err(Failed { why, by_clock })) => {
                self.message = Some(why);
                self.clock_is_right |= by_clock;
            }
        }
        if self.offers_approval
            && !changed
            && !about.review.is_busy()
            && let Some(seen) = about.review.seen()
        {
            self.offers_approval = false;
            self.books.offer_approval(seen, &about.supervisor());
        }
        let ends = card::dialog(ui, look, "people", 540.0, |ui| {
            ui.spacing_mut().item_spacing = vec2(GAP, 5.0);
            let text = if self.page == Page::SetUp { "Set up signers" } else { "People" };
            ui.horizontal_wrapped(|ui| {
                ui.label(Type::Title.text(text, look.colors.ink));
                ui.add_space(GAP);
                if self.page == Page::SetUp {
                    return;
                }
                for (page, name) in [
                    (Page::Choose, "Who is at work"),
                    (Page::Key, "Create my key"),
                    (Page::Enrol, "Enrol somebody"),
                    (Page::Books, "Register and limits"),
                ] {
                    if widgets::toggle(ui, look, self.page == page, name).clicked() {
                        self.go(page);
                    }
                }
            });
            ui.separator();
            if let Some(done) = &self.done {
                ui.add(egui::Label::new(Type::Strong.text(done, look.colors.ink)).wrap());
            }
            match self.page {
                Page::Choose => self.choose(ui, look, about, actions),
                Page::Books => self.show_books(ui, look, about),
                Page::SetUp | Page::Key | Page::Enrol => self.fill_in(ui, look, about, actions),
            }
            if let Some(message) = &self.message {
                refused(ui, look, message);
            }
            ui.add_space(GAP);
            if widgets::button(ui, look, "Close", "Esc").clicked() {
                closed = true;
            }
        });
        if closed || (!changed && ends) {
            actions.push(Action::Close);
        }
    }

    fn go(&mut self, page: Page) {
        self.page = page;
        self.begun = false;
        self.message = None;
        if !matches!(page, Page::Choose | Page::Books) {
            self.done = None;
        }
    }

    fn show_books(&mut self, ui: &mut Ui, look: Look, about: &About<'_>) {
        if self.work.is_some() || self.offers_approval {
            ui.label(Type::Strong.text("Working\u{2026}", look.colors.ink));
            return;
        }
        match self.books.show(ui, look, about, self.clock_is_right) {
            None => {}
            Some(Ok(work)) => (self.work, self.done, self.message) = (Some(work), None, None),
            Some(Err(why)) => self.message = Some(why.into()),
        }
    }

    fn choose(&mut self, ui: &mut Ui, look: Look, about: &About<'_>, actions: &mut Actions) {
        let register = about.review.seen().and_then(Seen::register);
        let signers = register.map(signers::Register::signers).unwrap_or_default();
        let present = || signers.iter().filter(|one| one.revoked().is_none());
        // Where who is at work may not sign any more, the first has the keyboard.
        let is_present = present().any(|one| about.person == Some(one.id().as_str()));
        for signer in present() {
            let chosen = about.person == Some(signer.id().as_str());
            let text = format!("{}, {} ({})", signer.name(), signer.role(), signer.id());
            let size = vec2(ui.available_width(), 27.0);
            let (rect, response) = ui.allocate_exact_size(size, Sense::click());
            response.widget_info(|| WidgetInfo::selected(Access::Row, true, chosen, &text));
            if chosen {
                ui.painter().rect_filled(rect, 3.0, look.colors.selected);
            } else if response.hovered() {
                ui.painter().rect_filled(rect, 3.0, look.colors.hovered);
            }
            let at = egui::pos2(rect.left() + 8.0, rect.center().y);
            let (anchor, ink) = (egui::Align2::LEFT_CENTER, look.colors.ink);
            let room = rect.width() - 16.0;
            widgets::text_in(ui.painter(), at, anchor, &text, Type::Body, ink, room);
            widgets::focus_ring(ui, look, &response, rect);
            if !self.begun && (chosen || !is_present) {
                self.begun = true;
                response.request_focus();
            }
            if response.clicked() {
                actions.push(Action::Person(signer.id().clone()));
                actions.push(Action::Close);
            }
        }
        if signers.is_empty() {
            let text = "Nobody is enrolled in the plant's register of signers.";
            ui.label(Type::Body.text(text, look.colors.ink));
        }
    }

    fn fill_in(&mut self, ui: &mut Ui, look: Look, about: &About<'_>, actions: &mut Actions) {
        let text = match self.page {
            Page::SetUp => {
                "The first supervisor creates the register of signers and enrols the others. Write down the fingerprint of this key and keep it with the plant's papers."
            }
            Page::Key => {
                "Your key is kept in your own folder on this machine, locked by your passphrase. Give the public key below to a supervisor, who enrols you."
            }
            _ => "A supervisor enters who may sign, with the public key of that person.",
        };
        ui.add(egui::Label::new(Type::Body.text(text, look.colors.ink)).wrap());
        let Some(keys) = about.keys.clone() else {
            refused(ui, look, "the system names no folder for keys; set HOME or XDG_CONFIG_HOME");
            return;
        };
        let id = |field: &str| Id::unique(("people", field));
        let first = words::plain(
            ui,
            look,
            id("identifier"),
            "Identifier: lower-case letters, digits, . - _",
            &mut self.identifier,
        );
        if !std::mem::replace(&mut self.begun, true) {
            first.request_focus();
        }
        let mut fields = vec![(first, self.identifier.trim().is_empty())];
        if self.page != Page::Key {
            let name = words::plain(ui, look, id("name"), "Name as it is printed", &mut self.name);
            fields.push((name, self.name.trim().is_empty()));
        }
        if self.page == Page::Enrol {
            ui.horizontal(|ui| {
                for (role, name) in [
                    (Role::Operator, "Operator"),
                    (Role::Technician, "Technician"),
                    (Role::Supervisor, "Supervisor"),
                ] {
                    if widgets::toggle(ui, look, self.role == role, name).clicked() {
                        self.role = role;
                    }
                }
            });
            self.public_key_field(ui, look, actions);
            if self.supervisor.is_empty() {
                self.supervisor = about.supervisor();
            }
            let name = "Identifier of the supervisor who enrols";
            let by = words::plain(ui, look, id("supervisor"), name, &mut self.supervisor);
            fields.push((by, self.supervisor.trim().is_empty()));
            let name = "Passphrase of the supervisor";
            let secret = self.secret.field(ui, look, id("passphrase"), name);
            fields.push((secret, self.secret.is_empty()));
        } else {
            let name = format!("New passphrase: at least {} characters", Passphrase::LEAST);
            let secret = self.secret.field(ui, look, id("passphrase"), &name);
            fields.push((secret, self.secret.is_empty()));
            let again = self.again.field(ui, look, id("again"), "The same passphrase again");
            fields.push((again, self.again.is_empty()));
        }
        let entered = words::is_submitted(ui, &fields);
        if self.page == Page::Key && !self.public_key.is_empty() {
            words::label(ui, look, "Public key");
            let text = Type::Small.text(&self.public_key, look.colors.ink);
            ui.add(egui::Label::new(text).selectable(true));
            if widgets::button(ui, look, "Copy the public key", "").clicked() {
                ui.copy_text(self.public_key.clone());
            }
            if let Ok(signer) = self.identifier.parse() {
                let text = format!("It is also in {}.", keys.public_path(&signer).display());
                ui.add(egui::Label::new(Type::Small.text(text, look.colors.ink)).wrap());
            }
        }
        if self.work.is_some() {
            ui.label(Type::Strong.text("Working\u{2026}", look.colors.ink));
            return;
        }
        let text = match self.page {
            Page::SetUp => "Create register",
            Page::Key => "Create key",
            _ => "Enrol",
        };
        if widgets::primary_button(ui, look, text, "Enter").clicked() || entered {
            self.message = None;
            match self.begin(ui.ctx(), about, keys) {
                Ok(work) => self.work = Some(work),
                Err(why) => self.message = Some(why.into()),
            }
        }
    }

    fn public_key_field(&mut self, ui: &mut Ui, look: Look, actions: &mut Actions) {
        words::label(ui, look, "Public key (PEM)");
        let edit = egui::TextEdit::multiline(&mut self.public_key)
            .id(Id::unique("people public key"))
            .desired_rows(3)
            // Tab leads on to the next field.
            .lock_focus(false)
            .font(Type::Small.font())
            .desired_width(f32::INFINITY);
        let response = ui.add(edit).accessible_name("Public key (PEM)");
        words::show_focus(ui, look, &response);
        if widgets::button(ui, look, "Read it from a file", "").clicked() {
            actions.push(Action::Ask(Purpose::PublicKey));
        }
    }

    /// Begins the work of the page that is shown.
    fn begin(
        &mut self,
        context: &egui::Context,
        about: &About<'_>,
        keys: KeyFolder,
    ) -> Result<Job<Result<Done, Failed>>, Why> {
        let seen = about.review.seen().ok_or("the review is not open")?;
        let register = seen.register_path.clone();
        let stamp = about.clock.stamp(about.zone).ok_or("the clock shows no usable time")?;
        let now = about.clock.now();
        let signer: SignerId = parsed(&self.identifier)?;
        let page = self.page;
        if page != Page::Enrol && !self.secret.is_same(&self.again) {
            return Err("the two passphrases are not the same".into());
        }
        if page != Page::Key && self.name.trim().is_empty() {
            return Err("enter the name as it is to be printed".into());
        }
        let name = self.name.trim().to_owned();
        let enrolment = if page == Page::Enrol {
            let public_key = PublicKey::from_pem(self.public_key.trim_start());
            let public_key = public_key?;
            let (signer, name, role) = (signer.clone(), name.clone(), self.role);
            let by: SignerId = parsed(&self.supervisor)?;
            Some((Enrolment { signer, name, role, public_key }, by))
        } else {
            None
        };
        let passphrase = self.secret.take();
        // The repetition is wiped when it is dropped.
        self.again = Secret::default();
        let trust = about.trust.clone();
        let (disk, clock_is_right) = (about.disk, self.clock_is_right || page == Page::Key);
        let work = move || {
            check_clock(disk, &register, clock_is_right)?;
            if page == Page::Enrol {
                check_books(&trust, &register)?;
            }
            let done = match (page, enrolment) {
                (Page::Enrol, Some((enrolment, by))) => {
                    enrol(&keys, enrolment, (&by, &passphrase), &register, (now, stamp))
                }
                (Page::SetUp, _) => {
                    set_up(&keys, (&signer, &name, &passphrase), &register, (now, stamp))
                }
                _ => make(&keys, &signer, &passphrase),
            };
            Ok(done?)
        };
        Ok(Job::begin(context, work))
    }
}

/// Nothing is entered in books that are not what was seen before.
pub(super) fn check_books(trust: &Trust, register: &Path) -> Result<Books, Failed> {
    trust.books_to_write(register).map_err(|cause| cause.to_string().into())
}

/// A wrong date in the register stays for ever: where the clocks differ, somebody is told first.
pub(super) fn check_clock(disk: DiskClock, register: &Path, is_right: bool) -> Result<(), Failed> {
    let folder = register.parent().filter(|folder| !folder.as_os_str().is_empty());
    match (disk.0)(folder.unwrap_or_else(|| Path::new("."))).filter(|_| !is_right) {
        None => Ok(()),
        Some(told) => Err(Failed {
            why: format!(
                "{told}; nothing was written. Set the clock right, or enter it again if this clock is \
                 the right one"
            ),
            by_clock: true,
        }),
    }
}

fn parsed(text: &str) -> Result<SignerId, signers::Error> {
    text.trim().parse()
}

fn set_up(
    keys: &KeyFolder,
    (signer, name, passphrase): (&SignerId, &str, &Passphrase),
    register: &Path,
    (now, stamp): (Instant, Stamp),
) -> Result<Done, signers::Error> {
    let (mut register, _torn) = RegisterFile::open(register)?;
    // A set-up that stopped half-way left a key behind; it is used, if it is theirs.
    let key = if keys.path(signer).exists() {
        keys.unlock(signer, passphrase, now)?
    } else {
        keys.create(signer, passphrase, Cost::STRONG)?
    };
    register.found(name, &key, stamp)?;
    let told = format!(
        "{name} has created the register. Fingerprint of the key: {}",
        key.public_key().fingerprint()
    );
    Ok(Done { told, person: Some(signer.clone()), public_key: None })
}

fn make(
    keys: &KeyFolder,
    signer: &SignerId,
    passphrase: &Passphrase,
) -> Result<Done, signers::Error> {
    let key = keys.create(signer, passphrase, Cost::STRONG)?.public_key();
    let told = format!("The key of {signer} is created. Fingerprint: {}", key.fingerprint());
    Ok(Done { told, person: None, public_key: Some(key.to_pem()) })
}

fn enrol(
    keys: &KeyFolder,
    enrolment: Enrolment,
    (by, passphrase): (&SignerId, &Passphrase),
    register: &Path,
    (now, stamp): (Instant, Stamp),
) -> Result<Done, signers::Error> {
    let (name, fingerprint) = (enrolment.name.clone(), enrolment.public_key.fingerprint());
    let (mut register, _torn) = RegisterFile::open(register)?;
    let key = keys.unlock(by, passphrase, now)?;
    register.enrol(enrolment, &key, stamp)?;
    let told = if register.waits() {
        format!("{name} may sign when another supervisor agrees. Fingerprint: {fingerprint}")
    } else {
        format!("{name} is enrolled. Fingerprint: {fingerprint}")
    };
    Ok(Done { told, person: None, public_key: None })
}
