//! The dialog that verifies the open record, link by link, as `holdtrace verify` does: from the bytes on
//! the disk, off the thread that draws.

use crate::action::{Action, Actions};
use crate::day::Day;
use crate::job::Job;
use crate::surroundings::Surroundings;
use crate::theme::widgets::{self, capital};
use crate::theme::{GAP, Look, Type, card};
use crate::why::Why;
use ::review::Link;
use archive::{Neighbours, Verified, books_in_words, verify_record};
use egui::accesskit::Role as Access;
use egui::{Rect, Sense, Ui, UiBuilder, vec2};

use super::standing::{Mark, draw as draw_mark};

/// The dialog.
#[derive(Default)]
pub struct Links {
    work: Option<Job<Result<Found, Why>>>,
    found: Option<Result<Found, Why>>,
}

/// What was found.
struct Found {
    links: Vec<Link>,
    /// How far journal and books go, and whose they are, to be compared with paper.
    ends: Vec<String>,
}

impl Links {
    /// Whether it is still being verified.
    pub const fn is_busy(&self) -> bool {
        self.found.is_none()
    }

    /// Draws the dialog.
    pub fn show(
        &mut self,
        ui: &Ui,
        look: Look,
        day: &Day,
        around: &Surroundings,
        actions: &mut Actions,
    ) {
        let context = ui.ctx();
        if self.found.is_none() && self.work.is_none() {
            self.work = Some(begin(context, day, around));
        }
        let lost = || Why::from("the background task ended unexpectedly; please report this");
        if let Some(found) = Job::take(&mut self.work, context, lost) {
            self.found = Some(found);
        }
        let screen = context.content_rect().size();
        let mut closed = false;
        let ends = card::dialog(ui, look, "links", 720.0_f32.min(screen.x - 60.0), |ui| {
            ui.spacing_mut().item_spacing = vec2(GAP, 6.0);
            ui.label(Type::Title.text("Verification, link by link", look.colors.ink));
            match &self.found {
                None => {
                    ui.label(Type::Body.text("Verifying\u{2026}", look.colors.ink_soft));
                }
                Some(Err(why)) => card::paragraph(ui, look, &why.to_string()),
                Some(Ok(found)) => {
                    let height = (screen.y - 220.0).max(120.0);
                    let area = egui::ScrollArea::vertical().max_height(height).id_salt("links");
                    area.show(ui, |ui| all(ui, look, found));
                }
            }
            ui.add_space(GAP);
            ui.horizontal(|ui| {
                if let Some(Ok(found)) = &self.found
                    && widgets::button(ui, look, "Copy", "").clicked()
                {
                    ui.ctx().copy_text(found.text());
                }
                let close = widgets::primary_button(ui, look, "Close", "Esc");
                if ui.ctx().memory(|memory| memory.focused().is_none()) {
                    close.request_focus();
                }
                closed = close.clicked();
            });
        });
        if closed || ends {
            actions.push(Action::Close);
        }
    }
}

impl Found {
    /// All of it as `holdtrace verify` prints it.
    fn text(&self) -> String {
        let links = self.links.iter().map(|link| format!("{link}\n"));
        links.chain(self.ends.iter().map(|line| format!("{line}\n"))).collect()
    }
}

fn all(ui: &mut Ui, look: Look, found: &Found) {
    let failing = found.links.iter().filter(|link| !link.holds).count();
    let text = match failing {
        0 => format!("All {} links hold.", found.links.len()),
        _ => format!("{failing} of {} links FAIL.", found.links.len()),
    };
    let ink = if failing == 0 { look.colors.ink } else { look.colors.alert };
    ui.label(Type::Strong.text(text, ink));
    for link in &found.links {
        let verdict = if link.holds { "holds" } else { "FAILS" };
        let said = format!("{}, {verdict}: {}", capital(&link.what), link.found);
        let role = if link.holds { Access::Row } else { Access::Alert };
        let builder = UiBuilder::new().accessibility_role(role).accessibility_label(said);
        ui.scope_builder(builder, |ui| {
            ui.horizontal_top(|ui| {
                let (rect, _) = ui.allocate_exact_size(vec2(14.0, 17.0), Sense::hover());
                let mark = if link.holds { Mark::Done } else { Mark::Fails };
                let square = Rect::from_center_size(rect.center(), vec2(12.0, 12.0));
                draw_mark(ui.painter(), look, square, mark);
                let ink = if link.holds { look.colors.ink } else { look.colors.alert };
                let what = format!("{} {verdict}: {}", capital(&link.what), link.found);
                ui.add(egui::Label::new(Type::Body.text(what, ink)).wrap().selectable(true));
            });
        });
    }
    ui.add_space(GAP);
    ui.label(Type::Small.text("To compare with paper", look.colors.ink_soft));
    for line in &found.ends {
        let text = Type::Small.text(line.trim(), look.colors.ink);
        ui.add(egui::Label::new(text).wrap().selectable(true));
    }
}

fn begin(context: &egui::Context, day: &Day, around: &Surroundings) -> Job<Result<Found, Why>> {
    let record = day.task.files.first().cloned();
    let plant = day.task.plant.clone();
    let (cache, trust) = (around.cache.clone(), around.trust());
    Job::begin(context, move || {
        let record = record.ok_or_else(|| Why::from("the record has no file"))?;
        let mut neighbours = Neighbours::new(cache, trust.clone());
        let named = (plant.as_deref(), None);
        let Verified { verification, books, .. } =
            verify_record(&record, named, &mut neighbours, &trust);
        let last = format!("last line {}: sha256 {}", verification.lines, verification.head);
        let ends = std::iter::once(last).chain(books_in_words(&books)).collect();
        Ok(Found { links: verification.links, ends })
    })
}
