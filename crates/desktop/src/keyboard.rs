//! What is typed lands where the keyboard was when it was typed, also where a frame takes long.
//!
//! The keys of a slow frame come all at once. One of them may move the keyboard to another field, or may be
//! a command after which the next is typed elsewhere; and what was entered may have to be written before
//! the next field has the keyboard. So no more is handed out in a frame than belongs together, and the
//! rest waits for the next.

use egui::{Context, Event, Key, Plugin, RawInput, Ui};
use std::collections::VecDeque;

/// The keys that wait.
#[derive(Debug, Default)]
pub struct Keyboard {
    waiting: VecDeque<Event>,
    is_held: bool,
}

/// How much more is handed out in a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Open {
    /// All.
    Yes,
    /// The text of the key that was handed out last.
    Text,
    /// Nothing.
    No,
}

impl Keyboard {
    /// Holds the keys, or hands them out again.
    pub fn hold(context: &Context, is_held: bool) {
        context.plugin_or_default::<Self>().lock().is_held = is_held;
    }

    /// Sorts the events of a frame: what is handed out, in order.
    fn sort(&mut self, new: Vec<Event>, is_typing: bool) -> Vec<Event> {
        let mut open = if self.is_held { Open::No } else { Open::Yes };
        let mut out = Vec::with_capacity(new.len());
        while let Some(event) = self.waiting.front() {
            match after(event, open, is_typing) {
                Some(next) => open = next,
                None => break,
            }
            out.extend(self.waiting.pop_front());
        }
        for event in new {
            if !is_of_keyboard(&event) {
                // What is typed after a click belongs to what was clicked.
                if matches!(event, Event::PointerButton { .. }) {
                    open = Open::No;
                }
                out.push(event);
                continue;
            }
            let next = if self.waiting.is_empty() { after(&event, open, is_typing) } else { None };
            match next {
                Some(next) => {
                    open = next;
                    out.push(event);
                }
                None => self.waiting.push_back(event),
            }
        }
        out
    }
}

impl Plugin for Keyboard {
    fn debug_name(&self) -> &'static str {
        "keyboard"
    }

    fn input_hook(&mut self, context: &Context, input: &mut RawInput) {
        let events = std::mem::take(&mut input.events);
        input.events = self.sort(events, context.text_edit_focused());
    }

    fn on_begin_pass(&mut self, ui: &mut Ui) {
        if !self.waiting.is_empty() {
            ui.ctx().request_repaint();
        }
    }
}

const fn is_of_keyboard(event: &Event) -> bool {
    matches!(
        event,
        Event::Key { .. }
            | Event::Text(_)
            | Event::Ime(_)
            | Event::Copy
            | Event::Cut
            | Event::Paste(_)
    )
}

/// How much more is handed out after an event, if it is handed out itself.
fn after(event: &Event, open: Open, is_typing: bool) -> Option<Open> {
    match (open, event) {
        (Open::No, _) => None,
        (Open::Text, Event::Text(_)) => Some(Open::No),
        (_, Event::Key { pressed: false, .. }) => Some(open),
        (Open::Text, _) => None,
        (Open::Yes, Event::Key { key, modifiers, .. }) => {
            let is_command = !is_typing || modifiers.command || modifiers.alt;
            Some(match key {
                // These have no text of their own.
                Key::Enter | Key::Tab | Key::Escape => Open::No,
                _ if is_command => Open::Text,
                _ => Open::Yes,
            })
        }
        (Open::Yes, _) => Some(Open::Yes),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui::{Modifiers, PointerButton, pos2};

    fn key(key: Key) -> Event {
        let modifiers = Modifiers::NONE;
        Event::Key { key, physical_key: None, pressed: true, repeat: false, modifiers }
    }

    fn text(text: &str) -> Event {
        Event::Text(text.to_owned())
    }

    /// What is handed out frame by frame of what comes at once.
    fn frames(new: Vec<Event>, typing: &[bool]) -> Vec<Vec<Event>> {
        let mut keyboard = Keyboard::default();
        let mut new = Some(new);
        let frames = typing.iter();
        frames.map(|&typing| keyboard.sort(new.take().unwrap_or_default(), typing)).collect()
    }

    #[test]
    fn what_is_typed_after_enter_waits_for_the_next_field() {
        let typed = vec![text("a"), key(Key::Enter), text("b"), key(Key::Tab), text("c")];
        let handed = frames(typed, &[true, true, true, true]);
        assert_eq!(
            handed,
            [
                vec![text("a"), key(Key::Enter)],
                vec![text("b"), key(Key::Tab)],
                vec![text("c")],
                vec![],
            ]
        );
    }

    #[test]
    fn a_command_takes_its_own_letter_and_no_other() {
        let typed = vec![key(Key::T), text("t"), key(Key::S), text("s"), key(Key::T), text("t")];
        let handed = frames(typed, &[false, true]);
        assert_eq!(
            handed,
            [vec![key(Key::T), text("t")], vec![key(Key::S), text("s"), key(Key::T), text("t")],]
        );
    }

    #[test]
    fn what_is_typed_after_a_click_waits_for_it() {
        let click = |pressed| Event::PointerButton {
            pos: pos2(1.0, 1.0),
            button: PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        };
        let handed = frames(vec![text("a"), click(true), click(false), text("b")], &[true, true]);
        assert_eq!(handed, [vec![text("a"), click(true), click(false)], vec![text("b")]]);
    }

    #[test]
    fn while_the_keyboard_is_held_nothing_is_lost() {
        let mut keyboard = Keyboard { is_held: true, ..Keyboard::default() };
        assert_eq!(keyboard.sort(vec![text("a"), Event::PointerGone], true), [Event::PointerGone]);
        assert_eq!(keyboard.sort(vec![text("b")], true), []);
        keyboard.is_held = false;
        assert_eq!(keyboard.sort(vec![text("c")], true), [text("a"), text("b"), text("c")]);
    }
}
