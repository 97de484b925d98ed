//! What a person does on the page that sets up a file.

use crate::common::{Window, settle};
use egui::accesskit::Role;
use egui_kittest::kittest::Queryable as _;

pub fn press(window: &mut Window, name: &str) {
    window.get_by_role_and_label(Role::Button, name).click();
    settle(window);
}

pub fn type_into(window: &mut Window, name: &str, text: &str) {
    window.get_by_role_and_label(Role::TextInput, name).focus();
    window.run();
    window.get_by_role_and_label(Role::TextInput, name).type_text(text);
    settle(window);
}

/// What is said in all of the window.
pub fn says(window: &Window, words: &str) -> bool {
    window.query_all_by_label_contains(words).next().is_some()
}
