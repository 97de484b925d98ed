//! The field for a passphrase: masked, and wiped when it is dropped or handed on.

use super::words;
use crate::theme::Look;
use egui::text_edit::TextEditState;
use egui::{Id, Response, TextEdit, Ui};
use signers::Passphrase;
use zeroize::Zeroizing;

/// Room for what is typed, so that growing leaves no copies behind.
const ROOM: usize = 512;

/// What is typed into a masked field.
pub struct Secret(Zeroizing<String>);

impl Default for Secret {
    fn default() -> Self {
        Self(Zeroizing::new(String::with_capacity(ROOM)))
    }
}

impl Secret {
    /// Draws the field.
    pub fn field(&mut self, ui: &mut Ui, look: Look, id: Id, name: &str) -> Response {
        words::label(ui, look, name);
        let edit = TextEdit::singleline(&mut *self.0).password(true).id(id);
        let response = ui.add(edit.desired_width(f32::INFINITY)).accessible_name(name);
        words::show_focus(ui, look, &response);
        // The field keeps what was typed to undo it.
        if let Some(mut state) = TextEditState::load(ui.ctx(), id) {
            state.clear_undoer();
            state.store(ui.ctx(), id);
        }
        response
    }

    /// Whether nothing is typed.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether both say the same.
    pub fn is_same(&self, other: &Self) -> bool {
        *self.0 == *other.0
    }

    /// Hands on what is typed and leaves nothing behind.
    pub fn take(&mut self) -> Passphrase {
        let empty = String::with_capacity(ROOM);
        Passphrase::new(std::mem::replace(&mut *self.0, empty))
    }
}
