//! The two components of a signature in a dialog: who, and what only they know. The key is unlocked off
//! the thread that draws.

use super::secret::Secret;
use super::words;
use crate::job::{Job, Progress};
use crate::theme::{Look, Type, widgets};
use crate::why::Why;
use egui::{Context, Id, Ui};
use signers::{KeyFolder, Signer, SignerId, UnlockedKey};
use trace::Instant;

/// Identifier and passphrase, as they are typed.
pub struct Proof {
    identifier: String,
    secret: Secret,
    message: Option<String>,
    unlocking: Option<Job<Result<UnlockedKey, signers::Error>>>,
    /// Whether Enter was pressed in a field above.
    asked: bool,
    begun: bool,
}

/// What the fields are drawn from.
pub struct With<'a> {
    /// The user's keys; `None` where there is no folder for them.
    pub keys: Option<&'a KeyFolder>,
    /// Who it must be; `None` for anybody with a key.
    pub signer: Option<&'a Signer>,
    /// The time.
    pub now: Instant,
    /// What is written on the button.
    pub button: &'a str,
    /// What is said while the key is unlocked.
    pub working: &'a str,
}

impl Proof {
    /// Fields that get the keyboard when they are drawn first.
    pub fn new() -> Self {
        Self {
            identifier: String::new(),
            secret: Secret::default(),
            message: None,
            unlocking: None,
            asked: false,
            begun: false,
        }
    }

    /// Fields below others, which get the keyboard first, with an identifier to begin with.
    pub fn below(identifier: &str) -> Self {
        Self { identifier: identifier.to_owned(), begun: true, ..Self::new() }
    }

    /// Fields that get the keyboard, with an identifier to begin with.
    pub fn begun_with(identifier: &str) -> Self {
        Self { identifier: identifier.to_owned(), ..Self::new() }
    }

    /// Whether the fields were drawn and have had the keyboard.
    pub const fn has_begun(&self) -> bool {
        self.begun
    }

    /// Whether a key is being unlocked.
    pub const fn is_busy(&self) -> bool {
        self.unlocking.is_some()
    }

    /// Goes on as if Enter had been pressed in its own fields.
    pub const fn ask(&mut self) {
        self.asked = true;
    }

    /// The key, once it is unlocked.
    pub fn poll(&mut self, context: &Context) -> Option<UnlockedKey> {
        let progress = self.unlocking.as_ref()?.poll(context);
        let message = match progress {
            Progress::Running => return None,
            Progress::Done(Ok(key)) => {
                self.unlocking = None;
                return Some(key);
            }
            Progress::Done(Err(cause)) => {
                self.begun = false;
                cause.to_string()
            }
            Progress::Lost => "the key could not be unlocked; try again".to_owned(),
        };
        self.unlocking = None;
        self.message = Some(message);
        None
    }

    /// Draws the fields. `check` says before a passphrase is tried whether there is any use in it.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        look: Look,
        with: &With<'_>,
        check: impl FnOnce(&SignerId) -> Result<(), Why>,
    ) {
        let Some(keys) = with.keys else {
            refused(ui, look, "the system names no folder for keys; set HOME or XDG_CONFIG_HOME");
            return;
        };
        if self.unlocking.is_some() {
            ui.label(Type::Strong.text(with.working, look.colors.ink));
            return;
        }
        let mut entered = false;
        ui.columns(2, |columns| {
            let [left, right] = columns else { return };
            let id = Id::unique("identifier of the signer");
            let field = words::plain(left, look, id, "Your identifier", &mut self.identifier);
            let id = Id::unique("passphrase of the signer");
            let secret = self.secret.field(right, look, id, "Passphrase");
            entered = words::is_entered(right, &secret);
            if std::mem::take(&mut self.asked) || words::is_entered(left, &field) {
                // What is still to be typed gets the keyboard.
                if self.identifier.trim().is_empty() {
                    field.request_focus();
                } else if self.secret.is_empty() {
                    secret.request_focus();
                } else {
                    entered = true;
                }
            }
            if !std::mem::replace(&mut self.begun, true) {
                let first = if self.identifier.is_empty() { &field } else { &secret };
                first.request_focus();
            }
        });
        if let Some(message) = &self.message {
            refused(ui, look, message);
        }
        let pressed = widgets::primary_button(ui, look, with.button, "Enter").clicked();
        if entered || pressed {
            self.message = self.unlock(ui.ctx(), (with, keys), check).err().map(Into::into);
            // What is refused is mended where the keyboard is.
            self.begun &= self.message.is_none();
        }
    }

    fn unlock(
        &mut self,
        context: &Context,
        (with, keys): (&With<'_>, &KeyFolder),
        check: impl FnOnce(&SignerId) -> Result<(), Why>,
    ) -> Result<(), Why> {
        let typed = self.identifier.trim();
        if let Some(signer) = with.signer
            && typed != signer.id().as_str()
        {
            let name = signer.name();
            let why = format!(
                "{typed:?} is not the identifier of {name}, who is at work; choose yourself first"
            );
            return Err(why.into());
        }
        let signer: SignerId = typed.parse()?;
        check(&signer)?;
        if self.secret.is_empty() {
            return Err("enter the passphrase".into());
        }
        let (keys, now, passphrase) = (keys.clone(), with.now, self.secret.take());
        let work = move || keys.unlock(&signer, &passphrase, now);
        self.unlocking = Some(Job::begin(context, work));
        Ok(())
    }
}

/// Why it can't be done.
pub(super) fn refused(ui: &mut Ui, look: Look, why: &str) {
    let builder = egui::UiBuilder::new()
        .accessibility_role(egui::accesskit::Role::Alert)
        .accessibility_label(why);
    ui.scope_builder(builder, |ui| {
        let text = format!("Not yet: {why}.");
        let text = Type::Strong.text(text, look.colors.alert);
        ui.add(egui::Label::new(text).wrap().selectable(true));
    });
}
