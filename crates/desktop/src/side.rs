//! The pane on the right: what is chosen in plain words, what is measured, and else what the
//! record is. The settlement of the chosen exception stands below its explanation.

use crate::action::{Action, Actions};
use crate::commands::Command;
use crate::day::Day;
use crate::day::setting::short_name;
use crate::exceptions::row::passed_in_full;
use crate::observations;
use crate::review::{closing, form, hole, many, noting, seals, signatures};
use crate::tanks;
use crate::theme::card::{card, explanation, figure, paragraph, title};
use crate::theme::widgets::{self, capital};
use crate::theme::{GAP, Look, Type, rule_pattern, swatch};
use crate::units::Units;
use analysis::{Basis, Class, Exception};
use case::plain_volume;
use case::sentence;
use chart::{ChannelSpan, Measured};
use egui::accesskit::Role as Access;
use egui::{Align, Color32, Id, Layout, Rect, Sense, Ui, WidgetInfo, pos2, vec2};
use trace::ValveState;

/// A pane so high has room for what is measured beside what is chosen.
const WITH_FOOT: f32 = 420.0;
/// The most that what is measured takes of such a pane: the form above keeps the rest, and what finds no room
/// below is scrolled to.
const FOOT: f32 = 0.3;

/// Draws the pane's content.
pub fn show(ui: &mut Ui, look: Look, day: &mut Day, units: Units, actions: &mut Actions) {
    // What is being filled in keeps its place, and where there is room for both what is measured stands in sight.
    let has_foot = ui.available_height() > WITH_FOOT;
    if day.measured.is_some() && has_foot {
        let foot = egui::Panel::bottom("measured span").frame(egui::Frame::new());
        let most = FOOT * ui.available_height();
        foot.resizable(false).show_separator_line(false).show(ui, |ui| {
            let area = egui::ScrollArea::vertical().max_height(most).id_salt("measured span");
            area.show(ui, |ui| {
                ui.spacing_mut().item_spacing = vec2(GAP, 5.0);
                measured_card(ui, look, day, units, actions);
            });
        });
    }
    let mut area = egui::ScrollArea::vertical().auto_shrink(false).id_salt("side");
    // What is chosen is shown from its beginning at each choice, also where it was looked at before.
    let chosen = (day.chosen.as_ref().map(|chosen| chosen.index), day.noted, day.picked.is_empty());
    let before = Id::unique("chosen in the pane");
    if ui.data(|data| data.get_temp(before)) != Some(chosen) {
        ui.data_mut(|data| data.insert_temp(before, chosen));
        area = area.vertical_scroll_offset(0.0);
    }
    area.show(ui, |ui| {
        ui.spacing_mut().item_spacing = vec2(GAP, 5.0);
        hole::show(ui, look, &mut day.review, actions);
        if !day.picked.is_empty() {
            many::show(ui, look, day, actions);
            if !has_foot {
                measured_card(ui, look, day, units, actions);
            }
        } else if let Some(exception) = day.chosen_exception() {
            card(ui, look, |ui| {
                if exception_title(ui, look, exception) {
                    actions.push(Action::Release);
                }
                if let Some(chosen) = &day.chosen {
                    paragraph(ui, look, &chosen.explanation);
                    tanks::briefly(ui, look, day, chosen.index);
                }
            });
            let id = exception.id.clone();
            form::show(ui, look, (&mut day.review, actions), day.case.plant(), &id);
            if !has_foot {
                measured_card(ui, look, day, units, actions);
            }
            if let Some(exception) = day.chosen_exception() {
                card(ui, look, |ui| explained(ui, look, day, exception));
            }
            if let Some(chosen) = &day.chosen {
                tanks::show(ui, look, day, chosen.index);
            }
        } else if let Some(index) = day.noted.filter(|_| day.chosen_observation().is_some()) {
            noted(ui, look, (day, index), units, actions);
            if !has_foot {
                measured_card(ui, look, day, units, actions);
            }
            card(ui, look, |ui| whence(ui, look, day));
        } else {
            seals::show(ui, look, (&mut day.review, actions), &day.case);
            signatures::show(ui, look, &day.review, actions);
            if !has_foot {
                measured_card(ui, look, day, units, actions);
            }
            card(ui, look, |ui| record(ui, look, day));
        }
    });
}

/// The chosen observation: what it says, why it matters, what to do, and the form that closes or
/// acknowledges it.
fn noted(
    ui: &mut Ui,
    look: Look,
    (day, index): (&mut Day, usize),
    units: Units,
    actions: &mut Actions,
) {
    let Some(observation) = day.chosen_observation() else { return };
    let kind = observation.kind;
    let of_kind = |one: &&trace::Observation| one.kind == kind;
    let observations = &day.case.audit().observations;
    let count = observations.iter().filter(of_kind).count();
    let first = observations.iter().position(|one| one.kind == kind).unwrap_or(index);
    card(ui, look, |ui| {
        if title(ui, look, &capital(kind.title()), Some("Hide the observation")) {
            actions.push(Action::Release);
        }
        if count > 1 {
            ui.horizontal(|ui| {
                let text = format!("{} of {count}", index - first + 1);
                ui.label(Type::Small.text(text, look.colors.ink_soft));
                if widgets::button(ui, look, "Next of this kind", "").clicked() {
                    actions.push(Action::Note(first + (index - first + 1) % count));
                }
            });
        }
        let text = sentence(observation, day.case.plant().zone, units.of_observations());
        paragraph(ui, look, &capital(&text));
        explanation(ui, look, "Why it matters", kind.why());
        explanation(ui, look, "What to do", kind.what_to_do());
    });
    match day.closing_id(index).map(str::to_owned) {
        Some(id) => closing::show(ui, look, (&mut day.review, actions), &id),
        None => noting::show(ui, look, (&mut day.review, actions), (kind, count)),
    }
}

/// Where the chosen observation comes from, and whose the figures of its kind are.
fn whence(ui: &mut Ui, look: Look, day: &Day) {
    let Some(observation) = day.chosen_observation() else { return };
    figure(ui, look, "Source", observation.kind.source());
    figure(ui, look, "Where", &observations::place(day, observation));
    if let Some(position) = &observation.position {
        figure(ui, look, "File", &position.file);
        figure(ui, look, "Line", &position.line.to_string());
    }
    figure(ui, look, "Samples or rows", &observation.count.to_string());
}

/// What is measured.
fn measured_card(ui: &mut Ui, look: Look, day: &Day, units: Units, actions: &mut Actions) {
    let Some(measured) = &day.measured else { return };
    card(ui, look, |ui| {
        if title(ui, look, "Measured span", Some("Clear the measured span")) {
            actions.push(Command::ClearMeasure);
        }
        measured_span(ui, look, day, units, measured);
    });
}

fn exception_title(ui: &mut Ui, look: Look, exception: &Exception) -> bool {
    let mut closed = false;
    ui.horizontal(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(18.0, 18.0), Sense::hover());
        swatch(ui.painter(), rect, rule_pattern(exception.rule), look.rule(exception.rule));
        let name = capital(exception.rule.name());
        ui.label(Type::Title.text(name, look.colors.ink));
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(22.0, 22.0), Sense::hover());
            let name = "Hide the exception";
            closed = widgets::glyph_button(ui, look, rect, widgets::Glyph::Close, name).clicked();
        });
    });
    closed
}

fn explained(ui: &mut Ui, look: Look, day: &Day, exception: &Exception) {
    let span = |interval: trace::Interval| {
        format!("{} to {}", day.case.clock(interval.start()), day.case.clock(interval.end()))
    };
    figure(ui, look, "Observed", &span(exception.observed));
    figure(ui, look, "Estimate", &span(exception.estimate));
    figure(ui, look, "At most", &span(exception.outer));
    if let Some(worst) = exception.worst {
        figure(
            ui,
            look,
            "Worst reading",
            &format!("{} at {}", case::reading(worst.value, worst.unit), day.case.clock(worst.at)),
        );
    }
    if let Some(shortfall) = exception.shortfall {
        figure(ui, look, "Shortfall", &case::amount(shortfall.value, shortfall.unit));
    }
    let most = exception.volume.outer_value.map_or_else(String::new, |most| {
        format!(", at most {}", plain_volume(most, exception.volume.unit))
    });
    figure(ui, look, "Passed", &format!("{}{most}", passed_in_full(exception)));
    let joined = |words: &[String]| words.join(", ");
    for (name, value) in [
        ("Product", joined(&exception.products)),
        ("Lot", joined(&exception.lots)),
        ("Tank", joined(&exception.tanks)),
        ("Shift", exception.shift.clone().unwrap_or_default()),
        ("ID", exception.id.clone()),
    ] {
        if !value.is_empty() {
            figure(ui, look, name, &value);
        }
    }
    if exception.positions != [ValveState::Forward] && !exception.positions.is_empty() {
        let positions: Vec<&str> = exception.positions.iter().map(|one| one.name()).collect();
        figure(ui, look, "FDD", &positions.join(", "));
    }
    if exception.within_response {
        figure(ui, look, "Response", "fully diverted within the allowed response time");
    }
    if exception.unplaced.rows > 0 {
        let text = format!(
            "{}, {} of them below a limit in forward flow",
            case::count(exception.unplaced.rows as usize),
            case::count(exception.unplaced.short as usize)
        );
        figure(ui, look, "Rows without a usable time", &text);
    }
}

fn measured_span(ui: &mut Ui, look: Look, day: &Day, units: Units, measured: &Measured) {
    let interval = measured.interval;
    let span =
        format!("{} to {}", day.case.clock(interval.start()), day.case.clock(interval.end()));
    figure(ui, look, "From, to", &span);
    figure(ui, look, "Duration", &case::about(interval.duration()));
    let passed = match (measured.volume.value, measured.volume.basis) {
        (Some(value), Basis::Nominal) => {
            format!("{} (nominal flow)", plain_volume(value, measured.volume.unit))
        }
        (Some(value), _) => plain_volume(value, measured.volume.unit),
        (None, _) => "unknown: no flow reading".to_owned(),
    };
    figure(ui, look, "Passed forward", &passed);
    if !measured.channels.is_empty() {
        measured_channels(ui, look, day, units, &measured.channels);
    }
    if measured.samples == 0 {
        paragraph(ui, look, "There is no sample in this span.");
    }
}

/// The width of a column of measured figures.
const MEASURE: f32 = 56.0;

/// Least, greatest and mean of each channel below one another, so that figures can be compared.
fn measured_channels(ui: &mut Ui, look: Look, day: &Day, units: Units, channels: &[ChannelSpan]) {
    let colors = look.colors;
    ui.spacing_mut().item_spacing.y = 1.0;
    ui.add_space(GAP);
    let columns = |ui: &Ui, rect: Rect, step: Type, ink: Color32, cells: [&str; 3]| {
        for (place, text) in cells.into_iter().rev().enumerate() {
            let at = pos2(rect.right() - MEASURE * place as f32, rect.center().y);
            widgets::text_right(ui.painter(), at, text, step, ink, MEASURE - 4.0);
        }
    };
    let size = vec2(ui.available_width(), 18.0);
    let (heading, _) = ui.allocate_exact_size(size, Sense::hover());
    columns(ui, heading, Type::Small, colors.ink_soft, ["Lowest", "Highest", "Mean"]);
    for span in channels {
        let Some(channel) = day.case.record().channel(span.role) else { continue };
        let shown = units.of(channel);
        let figure_of = |sample: usize| {
            channel.reading(sample).valid().map_or_else(String::new, |value| shown.figure(value))
        };
        let figures = [figure_of(span.least), figure_of(span.greatest), shown.number(span.mean)];
        let unusable = match span.invalid {
            0 => String::new(),
            1 => "1 reading not usable".to_owned(),
            many => format!("{many} readings not usable"),
        };
        let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
        let [least, greatest, mean] = &figures;
        let symbol = shown.symbol();
        let comma = if unusable.is_empty() { "" } else { ", " };
        let name = capital(span.role.name());
        let words = format!(
            "{name}: lowest {least}, highest {greatest}, mean {mean} {symbol}{comma}{unusable}"
        );
        response.widget_info(|| WidgetInfo::labeled(Access::Label, true, &words));
        let room = rect.width() - 3.0 * MEASURE;
        let text = format!("{}, {symbol}", short_name(span.role));
        let (left, soft) = (rect.left_center(), colors.ink_soft);
        widgets::text_left(ui.painter(), left, &text, Type::Small, soft, room);
        columns(ui, rect, Type::Strong, colors.ink, [least, greatest, mean]);
        response.on_hover_text(words);
        if !unusable.is_empty() {
            ui.label(Type::Small.text(unusable, colors.alert));
        }
    }
}

/// What the record is, while nothing is selected.
fn record(ui: &mut Ui, look: Look, day: &Day) {
    title(ui, look, "Time in each state", None);
    for class in Class::ALL {
        let time = day.case.audit().accounting.time(class);
        if time.milliseconds() > 0 {
            figure(ui, look, &capital(class.name()), &time.to_string());
        }
    }
    ui.add_space(GAP);
    title(ui, look, "Record", None);
    figure(ui, look, "Plant", &day.case.plant().name);
    figure(ui, look, "Pasteurizer", day.case.record().unit());
    figure(ui, look, "Samples", &case::count(day.case.record().samples()));
    figure(ui, look, "Sampling interval", &day.case.record().sampling_interval().to_string());
    figure(ui, look, "Gap limit", &day.case.audit().gap_limit.to_string());
    for source in day.case.record().sources() {
        let hex = source.sha256_hex();
        let short = hex.get(..16).unwrap_or(&hex).to_owned();
        let name = crate::task::file_name(std::path::Path::new(source.name.as_ref()));
        figure(ui, look, "File", &name);
        figure(ui, look, "SHA-256", &format!("{short}\u{2026}"));
    }
    if !day.case.assumptions().is_empty() || day.case.plant().is_assumed() {
        ui.add_space(GAP);
        title(ui, look, "Assumed", None);
        if day.case.plant().is_assumed() {
            let text = "There is no plant file: times in UTC, milk at 161 \u{b0}F (72 \u{b0}C), \
                        differential at least 2 psi (14 kPa).";
            paragraph(ui, look, text);
        }
        for assumption in day.case.assumptions() {
            paragraph(ui, look, assumption);
        }
    }
}
