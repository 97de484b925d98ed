//! Required entries of a day by the plant's list, and whether it does: told apart by
//! shape and word. What no sensor can give is entered here.

use crate::action::Actions;
use crate::clock::minute;
use crate::review::state::{Focus, Review};
use crate::review::words;
use crate::table;
use crate::theme::{Look, MARGIN, Type, widgets};
use ::review::{Decision, EntriesSigned, ItemKind, SIGNATURE};
use analysis::{Audit, CompletenessItem, Presence};
use egui::accesskit::Role as Access;
use egui::{Id, Key, Rect, Stroke, StrokeKind, Ui, UiBuilder, WidgetInfo, pos2, vec2};

/// Draws the list; what is missing stands first.
pub(super) fn show(
    ui: &mut Ui,
    look: Look,
    audit: &Audit,
    (review, actions): (&mut Review, &mut Actions),
) {
    let items = &audit.completeness;
    if items.is_empty() {
        let text = "The plant file has no list of required entries.";
        table::note(ui, look, text);
        return;
    }
    let of = |presence: Presence| items.iter().filter(move |item| item.presence == presence);
    let order = [Presence::Missing, Presence::NeedsEntry, Presence::Present];
    let items: Vec<&CompletenessItem> = order.into_iter().flat_map(of).collect();
    ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
    // However little room there is, what stands below is not covered.
    let list = egui::ScrollArea::vertical().auto_shrink(false).min_scrolled_height(0.0);
    list.id_salt("must hold").show(ui, |ui| {
        // The field that is to get the keyboard must be laid out to get it.
        let wanted = items.iter().position(|item| {
            review.focus.as_ref().is_some_and(|focus| *focus == Focus::Entry(item.item.clone()))
        });
        if let Some(place) = wanted {
            table::scroll_to(ui, place);
        }
        let columns = columns(ui, &items, review);
        table::rows(ui, "Required entries", items.len(), |ui, place| {
            if let Some(item) = items.get(place) {
                line(ui, look, (item, &columns), (review, actions));
            }
        });
    });
}

/// The columns: word, item, detail or entry, and source, as wide as what stands in them; what is left goes to
/// the entries.
const COLUMNS: [table::Column<()>; 4] = [
    table::Column { share: 0.0, ..table::word("", 0.0, false) },
    table::Column { share: 0.0, ..table::word("", 0.0, false) },
    table::Column { share: 1.0, ..table::word("", 0.0, false) },
    table::Column { share: 0.0, ..table::word("", 0.0, false) },
];

/// The least room of a field to type in (ours: a sentence of some ten words).
const FIELD: f32 = 260.0;

fn columns(ui: &Ui, items: &[&CompletenessItem], review: &Review) -> Vec<table::Column<()>> {
    let state = review.state();
    let is_entry = |item: &CompletenessItem| {
        state.is_some_and(|state| state.subject().entries.contains(&item.item))
    };
    let needs = |ui: &Ui, index: usize| {
        let texts = |of: fn(&CompletenessItem) -> &str, step| {
            table::widest_text(ui, items.iter().map(|item| of(item)), step)
        };
        match index {
            0 => 20.0 + texts(|item| item.presence.name(), Type::Strong),
            1 => texts(|item| &item.item, Type::Body),
            3 => texts(|item| &item.source, Type::Small),
            _ => {
                let shown = items.iter().filter(|item| !is_entry(item));
                let details = shown.map(|item| item.detail.as_str());
                let details = table::widest_text(ui, details, Type::Body);
                if items.iter().any(|item| is_entry(item)) { details.max(FIELD) } else { details }
            }
        }
    };
    table::fitted(ui, &COLUMNS, ui.available_width() - 2.0 * MARGIN, needs)
}

fn line(
    ui: &mut Ui,
    look: Look,
    (item, columns): (&CompletenessItem, &[table::Column<()>]),
    (review, actions): (&mut Review, &mut Actions),
) {
    let colors = look.colors;
    let state = review.state();
    let is_entry = state.is_some_and(|state| state.subject().entries.contains(&item.item));
    let (word, presence, detail) = match state.and_then(|state| state.entered(&item.item)) {
        Some(made) => ("entered", Presence::Present, made.value.clone()),
        None => (item.presence.name(), item.presence, item.detail.clone()),
    };
    let said = || format!("{word}: {}. {detail}. Required by {}", item.item, item.source);
    let info = || WidgetInfo::labeled(Access::Row, true, said());
    let mut field = None;
    let response = table::row(ui, look, (false, 0.0), info, |ui, rect| {
        let (y, left) = (rect.center().y, rect.left() + MARGIN);
        let mark = Rect::from_center_size(pos2(left + 6.0, y), vec2(11.0, 11.0));
        sign(ui, look, mark, presence);
        let ink = if presence == Presence::Missing { colors.alert } else { colors.ink };
        let places = table::places(columns, rect.left(), rect.width() - 2.0 * MARGIN);
        let shown = if is_entry { "" } else { detail.as_str() };
        for (place, indent, text, step, ink) in [
            (0, 20.0, word, Type::Strong, ink),
            (1, 0.0, item.item.as_str(), Type::Body, colors.ink),
            (2, 0.0, shown, Type::Body, colors.ink),
            (3, 0.0, item.source.as_str(), Type::Small, colors.ink_soft),
        ] {
            if let Some(place) = places.get(place) {
                let (at, room) = (pos2(place.left + indent, y), place.width - indent - 12.0);
                widgets::text_left(ui.painter(), at, text, step, ink, room);
            }
        }
        field = places.get(2).filter(|_| is_entry).map(|place| {
            Rect::from_min_max(
                pos2(place.left, rect.top() + 1.0),
                pos2(place.left + place.width - 12.0, rect.bottom() - 2.0),
            )
        });
    });
    response.on_hover_text(said());
    if let Some(field) = field {
        entry(ui, look, (review, actions), &item.item, field);
    }
}

/// What was entered for an item, or a field to enter it.
fn entry(
    ui: &mut Ui,
    look: Look,
    (review, actions): (&mut Review, &mut Actions),
    item: &str,
    place: Rect,
) {
    let mut inner = ui.new_child(
        UiBuilder::new()
            .max_rect(place)
            .id_salt(("entry", item))
            .layout(egui::Layout::right_to_left(egui::Align::Center)),
    );
    let ui = &mut inner;
    ui.spacing_mut().item_spacing.x = 4.0;
    let made = review.state().and_then(|state| state.entered(item)).cloned();
    if let Some(made) = made {
        let name = format!("Undo: {item}");
        let fixed = review.is_day_signed();
        if !fixed && widgets::named_button(ui, look, "Undo", &name).clicked() {
            let of = ItemKind::Entry;
            let back = Decision::Withdrawn { of, item: item.to_owned() };
            actions.push(back);
        }
        let who = review.name_of(&made.mark.by);
        let text = format!("{} ({who}, {})", made.value, minute(made.mark.at));
        let text = Type::Strong.text(text, look.colors.ink);
        ui.with_layout(egui::Layout::left_to_right(egui::Align::Center), |ui| {
            ui.add(egui::Label::new(text).truncate());
        });
        return;
    }
    let pressed = widgets::named_button(ui, look, "Enter", &format!("Enter: {item}")).clicked();
    // Whoever reviews takes the operator's signature over; it was checked when the books were read.
    let signed = review.seen().map(|seen| &seen.entries_signed);
    let mut text = match signed {
        Some(EntriesSigned::By(words))
            if item == SIGNATURE && review.typed.entry(item).is_empty() =>
        {
            words.clone()
        }
        _ => review.typed.entry(item),
    };
    let id = Id::unique(("entry", item));
    let response = words::bare(ui, look, id, item, &mut text);
    if review.focus == Some(Focus::Entry(item.to_owned())) {
        review.focus = None;
        response.request_focus();
        response.scroll_to_me(None);
    }
    if response.changed() {
        review.typed.set_entry(item, text.clone());
    }
    let entered = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if pressed || entered {
        let decision =
            Decision::Entered { entry: item.to_owned(), value: text, note: String::new() };
        actions.push(decision);
    }
}

/// Filled: present. Crossed out: missing. Empty with a line to write on: needs an entry.
fn sign(ui: &Ui, look: Look, rect: Rect, presence: Presence) {
    let (colors, painter) = (look.colors, ui.painter());
    let (ink, line) = match presence {
        Presence::Missing => (colors.alert, Stroke::new(1.8, colors.alert)),
        _ => (colors.ink, Stroke::new(1.4, colors.ink)),
    };
    match presence {
        Presence::Present => {
            painter.rect_filled(rect, 2.0, ink);
        }
        Presence::Missing => {
            painter.rect_stroke(rect, 2.0, line, StrokeKind::Inside);
            painter.line_segment([rect.left_top(), rect.right_bottom()], line);
            painter.line_segment([rect.right_top(), rect.left_bottom()], line);
        }
        Presence::NeedsEntry => {
            painter.rect_stroke(rect, 2.0, line, StrokeKind::Inside);
            let y = rect.bottom() - 3.5;
            let dash = [pos2(rect.left() + 2.5, y), pos2(rect.right() - 2.5, y)];
            painter.line_segment(dash, line);
        }
    }
}
