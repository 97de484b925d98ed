//! The searchable list of all commands.

use crate::action::Actions;
use crate::commands::Command;
use crate::header::command_row;
use crate::theme::{Look, Type};
use egui::{Frame, Id, Key, Modal, Modifiers, Ui};

/// The list while it is open.
#[derive(Debug, Default)]
pub struct Palette {
    open: bool,
    text: String,
    marked: usize,
}

/// The commands that a text may mean, those first whose names hold all of its words.
pub fn matching(text: &str) -> Vec<Command> {
    let lower = text.to_lowercase();
    let is_named = |command: &Command| {
        let title = command.title().to_lowercase();
        lower.split_whitespace().all(|word| title.contains(word))
    };
    let meant = Command::ALL.into_iter().filter(|command| command.is_meant_by(text));
    let meant = meant.filter(|command| *command != Command::CommandList);
    let (mut named, others): (Vec<_>, Vec<_>) = meant.partition(is_named);
    // What begins with the text is nearest to it; the sort keeps the order of the menu.
    named.sort_by_key(|command| !command.title().to_lowercase().starts_with(lower.trim()));
    named.extend(others);
    named
}

impl Palette {
    /// Opens the list, or closes it.
    pub fn toggle(&mut self) {
        *self = Self { open: !self.open, ..Self::default() };
    }

    /// Whether it is open.
    pub const fn is_open(&self) -> bool {
        self.open
    }

    /// Draws the list.
    pub fn show(&mut self, ui: &Ui, look: Look, actions: &mut Actions) {
        if !self.open {
            return;
        }
        let mut chosen = None;
        let frame = Frame::popup(ui.style()).inner_margin(egui::Margin::same(10));
        let area = Modal::default_area(Id::unique("commands"))
            .anchor(egui::Align2::CENTER_TOP, egui::vec2(0.0, 96.0));
        let modal = Modal::new(Id::unique("commands"))
            .area(area)
            .frame(frame)
            .backdrop_color(look.colors.veil)
            .show(ui.ctx(), |ui| {
                ui.set_width(440.0);
                let found = matching(&self.text);
                let pressed = |key| ui.input_mut(|input| input.consume_key(Modifiers::NONE, key));
                if pressed(Key::ArrowDown) {
                    self.marked += 1;
                }
                if pressed(Key::ArrowUp) {
                    self.marked = self.marked.saturating_sub(1);
                }
                self.marked = self.marked.min(found.len().saturating_sub(1));
                if pressed(Key::Enter) {
                    chosen = found.get(self.marked).copied();
                }
                let hint = Type::Body.text("Type what you want to do", look.colors.ink_soft);
                let field = egui::TextEdit::singleline(&mut self.text)
                    .hint_text(hint)
                    .desired_width(f32::INFINITY)
                    .id(Id::unique("command search"));
                let field = ui.add(field).accessible_name("Search commands");
                if !field.has_focus() {
                    field.request_focus();
                }
                if field.changed() {
                    self.marked = 0;
                }
                ui.add_space(4.0);
                let area =
                    egui::ScrollArea::vertical().max_height(430.0).auto_shrink([false, true]);
                area.show(ui, |ui| {
                    ui.spacing_mut().item_spacing.y = 1.0;
                    if found.is_empty() {
                        let text = "No matching command.";
                        ui.label(Type::Body.text(text, look.colors.ink_soft));
                    }
                    for (index, command) in found.into_iter().enumerate() {
                        let marked = index == self.marked;
                        let response = command_row(ui, look, command, marked);
                        if marked {
                            response.scroll_to_me(None);
                        }
                        if response.clicked() {
                            chosen = Some(command);
                        }
                    }
                });
            });
        if chosen.is_some() || modal.should_close() {
            *self = Self::default();
        }
        if let Some(command) = chosen {
            actions.push(command);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_find_commands_in_any_order() {
        assert_eq!(matching("minute worst"), [Command::WorstMinute]);
        assert!(matching("").len() >= Command::ALL.len() - 1);
        assert!(matching("no such thing").is_empty());
    }

    /// What people type, and what they mean by it.
    #[test]
    fn the_words_that_people_use_find_the_command() {
        for (words, meant) in [
            ("help", Command::Help),
            ("legend", Command::Help),
            ("?", Command::Help),
            ("print", Command::Summary),
            ("export", Command::Summary),
            ("pdf", Command::Summary),
            ("undo", Command::TakeBack),
            ("limit", Command::PlantFile),
            ("theme", Command::Appearance),
            ("dark", Command::Appearance),
            ("verify", Command::Verify),
            ("zoom", Command::ZoomIn),
            ("sign", Command::Sign),
            ("lot", Command::RegisterLot),
            ("hold", Command::RegisterHeld),
            ("login", Command::People),
            ("cip", Command::ShowCleanings),
            ("celsius", Command::TemperatureUnit),
            ("exit", Command::Quit),
            ("calendar", Command::RegisterMonth),
            ("deviation", Command::NextException),
            ("approve", Command::Sign),
            ("reload", Command::OpenAgain),
        ] {
            let found = matching(words);
            assert!(found.contains(&meant), "{words}: {found:?}");
            assert!(found.len() < 16, "{words} finds nearly everything: {}", found.len());
        }
        assert_eq!(matching("help").first(), Some(&Command::Help));
        assert_eq!(matching("sign").first(), Some(&Command::Sign), "what is named so comes first");
    }
}
