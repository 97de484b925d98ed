//! Fields to type into: plain ones, and those that offer the plant's own words while they have
//! the keyboard. Free text is always possible.

use super::standing::{self, Mark};
use crate::theme::{Look, Type, widgets};
use egui::accesskit::Role as Access;
use egui::{Id, Key, Modifiers, Rect, Response, Sense, TextEdit, Ui, WidgetInfo, pos2, vec2};

/// How many words are offered at once.
const OFFERED: usize = 7;

/// The name above a field.
pub fn label(ui: &mut Ui, look: Look, name: &str) {
    ui.label(Type::Small.text(name, look.colors.ink_soft));
}

/// Shows that a field has the keyboard, and brings it into view when it gets it.
pub fn show_focus(ui: &Ui, look: Look, response: &Response) {
    widgets::focus_ring(ui, look, response, response.rect.expand(1.0));
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
}

/// A field with its name above it.
pub fn plain(ui: &mut Ui, look: Look, id: Id, name: &str, text: &mut String) -> Response {
    label(ui, look, name);
    bare(ui, look, id, name, text)
}

/// A field without its name above it.
pub fn bare(ui: &mut Ui, look: Look, id: Id, name: &str, text: &mut String) -> Response {
    let edit = TextEdit::singleline(text).id(id).desired_width(f32::INFINITY);
    let response = ui.add(edit).accessible_name(name);
    show_focus(ui, look, &response);
    response
}

/// Whether `Enter` was pressed in a field of one line: it is what submits a form.
pub fn is_entered(ui: &Ui, field: &Response) -> bool {
    field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter))
}

/// Whether a form of several fields is submitted: `Enter` in one of them leads to the first that is to be filled in
/// and is blank, and submits where none is. What is refused then is mended where the keyboard is.
pub fn is_submitted(ui: &Ui, fields: &[(Response, bool)]) -> bool {
    let Some((entered, _)) = fields.iter().find(|(field, _)| is_entered(ui, field)) else {
        return false;
    };
    let blank = fields.iter().find(|(_, is_blank)| *is_blank).map(|(field, _)| field);
    blank.unwrap_or(entered).request_focus();
    blank.is_none()
}

/// A field that offers words: the arrows mark one, Enter takes it, a click takes it. All of it is one place in
/// the layout, so that what follows keeps its identity, and its place in the order of `Tab`, while words come
/// and go.
pub fn offering(
    ui: &mut Ui,
    look: Look,
    id: Id,
    name: &str,
    text: &mut String,
    words: &[&str],
) -> Response {
    ui.scope(|ui| offer(ui, look, id, (name, words), text)).inner
}

fn offer(
    ui: &mut Ui,
    look: Look,
    id: Id,
    (name, words): (&str, &[&str]),
    text: &mut String,
) -> Response {
    label(ui, look, name);
    // Asked before the field is drawn: a click on a word takes the keyboard away from it.
    let is_open = ui.ctx().memory(|memory| memory.has_focus(id));
    // `new york` finds `America/New_York`.
    let plain = |text: &str| text.trim().to_lowercase().replace('_', " ");
    let typed = plain(text);
    let is_one = words.iter().any(|word| plain(word) == typed);
    let offered = words.iter().filter(|word| is_one || plain(word).contains(&typed));
    let offered: Vec<&str> = offered.copied().take(OFFERED).collect();
    let marks = id.with("marked");
    let mut marked = ui.ctx().data(|data| data.get_temp::<usize>(marks));
    if is_open && !offered.is_empty() {
        let last = offered.len() - 1;
        let pressed = |key| ui.input_mut(|input| input.consume_key(Modifiers::NONE, key));
        if pressed(Key::ArrowDown) {
            marked = Some(marked.map_or(0, |place| (place + 1).min(last)));
        }
        if pressed(Key::ArrowUp) {
            marked = marked.and_then(|place| place.checked_sub(1));
        }
        marked = marked.map(|place| place.min(last));
        let word = marked.and_then(|place| offered.get(place));
        if let Some(word) = word
            && pressed(Key::Enter)
        {
            take(ui, id, text, word);
            marked = None;
        }
    } else {
        marked = None;
    }
    let response = bare(ui, look, id, name, text);
    if is_open {
        for (place, word) in offered.into_iter().enumerate() {
            let chosen = row(ui, look, word, marked == Some(place));
            if chosen.is_pointer_button_down_on() || chosen.clicked() {
                take(ui, id, text, word);
                response.request_focus();
            }
        }
    }
    ui.ctx().data_mut(|data| match marked {
        Some(place) => {
            data.insert_temp(marks, place);
        }
        None => data.remove::<usize>(marks),
    });
    response
}

/// A square to tick, in the marks of the review.
pub fn check(ui: &mut Ui, look: Look, on: &mut bool, text: &str) {
    let wide = ui.available_width();
    let words = egui::WidgetText::from(Type::Body.text(text, look.colors.ink));
    let wrap = Some(egui::TextWrapMode::Wrap);
    let words = words.into_galley(ui, wrap, wide - 24.0, egui::TextStyle::Body);
    let size = vec2(wide, (words.size().y + 6.0).max(24.0));
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    if response.clicked() {
        *on = !*on;
    }
    response.widget_info(|| WidgetInfo::selected(Access::CheckBox, true, *on, text));
    let mark = if *on { Mark::Done } else { Mark::Open };
    let place = Rect::from_center_size(pos2(rect.left() + 8.0, rect.center().y), vec2(13.0, 13.0));
    standing::draw(ui.painter(), look, place, mark);
    let at = pos2(rect.left() + 21.0, rect.center().y - words.size().y / 2.0);
    ui.painter().galley(at, words, look.colors.ink);
    show_focus(ui, look, &response);
}

/// Puts a word into the field, the cursor behind it.
fn take(ui: &Ui, id: Id, text: &mut String, word: &str) {
    word.clone_into(text);
    if let Some(mut state) = egui::text_edit::TextEditState::load(ui.ctx(), id) {
        let end = egui::text::CCursor::new(word.chars().count());
        state.cursor.set_char_range(Some(egui::text::CCursorRange::one(end)));
        state.store(ui.ctx(), id);
    }
}

/// An offered word. `Tab` passes it by: the arrows lead to it.
fn row(ui: &mut Ui, look: Look, word: &str, marked: bool) -> Response {
    let colors = look.colors;
    let sense = Sense::CLICK - Sense::FOCUSABLE;
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 20.0), sense);
    response.widget_info(|| WidgetInfo::selected(Access::ListBoxOption, true, marked, word));
    if marked {
        ui.painter().rect_filled(rect, 3.0, colors.selected);
        response.scroll_to_me(None);
    } else if response.hovered() {
        ui.painter().rect_filled(rect, 3.0, colors.hovered);
    }
    let at = pos2(rect.left() + 8.0, rect.center().y);
    let room = rect.width() - 12.0;
    widgets::text_left(ui.painter(), at, word, Type::Body, colors.ink, room);
    response
}

#[cfg(test)]
mod tests {
    use super::*;
    use egui_kittest::Harness;
    use egui_kittest::kittest::{NodeT as _, Queryable as _};

    /// What follows is known by its place: a list that unfolds above it must not take its place.
    #[test]
    fn tab_leads_on_to_what_follows_while_words_are_offered() {
        let mut said = String::new();
        let mut window = Harness::new_ui(move |ui| {
            // Fonts are there in the frame after.
            if ui.ctx().cumulative_frame_nr() == 0 {
                return crate::theme::install(ui.ctx(), false);
            }
            let look = Look::new(egui::Theme::Light, false);
            offering(ui, look, Id::unique("field"), "Field", &mut said, &["one", "two"]);
            for name in ["First", "Second"] {
                widgets::button(ui, look, name, "");
            }
        });
        let focused = |window: &Harness<'_>| {
            let node = window.query_all_by(|_| true).find(egui_kittest::Node::is_focused);
            node.and_then(|node| node.accesskit_node().label()).unwrap_or_default()
        };
        window.get_by_role_and_label(Access::TextInput, "Field").focus();
        window.run();
        assert!(window.query_by_label("two").is_some(), "words are offered");
        for name in ["First", "Second"] {
            window.key_press(Key::Tab);
            window.run();
            assert_eq!(focused(&window), name);
        }
        for name in ["First", "Field"] {
            window.key_press_modifiers(Modifiers::SHIFT, Key::Tab);
            window.run();
            assert_eq!(focused(&window), name);
        }
    }
}
