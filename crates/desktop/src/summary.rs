//! The dialog of the exception summary: for paper, for a spreadsheet or for a program, how it
//! looks, and where it is saved. What is shown is what is saved: it is made once, off the thread
//! that draws, from the record on the screen and the review as it lies on the disk.

use crate::action::{Action, Actions};
use crate::day::Day;
use crate::dialogs::{Purpose, Suggestion};
use crate::job::Job;
use crate::opener::saved;
use crate::surroundings::Surroundings;
use crate::theme::card;
use crate::theme::{GAP, Look, MARGIN, Type, widgets};
use crate::why::Why;
use ::review::{HoleBefore, Paths, Subject};
use archive::{Trust, read_review};
use case::Case;
use daybook::TankSheet;
use egui::accesskit::Role as Access;
use egui::emath::GuiRounding as _;
use egui::{
    ColorImage, Id, Rect, Sense, StrokeKind, TextureHandle, TextureOptions, Ui, WidgetInfo, vec2,
};
use paper::{Filing, Page, Paper};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use trace::Instant;

/// What a summary is written as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Format {
    /// For paper.
    #[default]
    Pdf,
    /// For a spreadsheet.
    Csv,
    /// For a program.
    Json,
}

impl Format {
    const ALL: [Self; 3] = [Self::Pdf, Self::Csv, Self::Json];

    const fn name(self) -> &'static str {
        match self {
            Self::Pdf => "PDF",
            Self::Csv => "CSV",
            Self::Json => "JSON",
        }
    }

    /// How the names of such files end.
    pub const fn extension(self) -> &'static str {
        match self {
            Self::Pdf => "pdf",
            Self::Csv => "csv",
            Self::Json => "json",
        }
    }

    const fn about(self) -> &'static str {
        match self {
            Self::Pdf => "For printing and filing: PDF/A with plots, decisions and signatures.",
            Self::Csv => "For a spreadsheet: one row for each exception and its resolution.",
            Self::Json => "For other programs: the audit, the review and its verification.",
        }
    }
}

/// What is to be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Wish {
    format: Format,
    paper: Paper,
}

/// The dialog.
#[derive(Default)]
pub struct Summary {
    wish: Wish,
    made: Option<Made>,
    work: Option<Job<Result<Made, Why>>>,
    saving: Option<Job<Result<PathBuf, Why>>>,
    saved: Option<PathBuf>,
    message: Option<String>,
    begun: bool,
}

/// A summary that was made.
struct Made {
    wish: Wish,
    bytes: Arc<[u8]>,
    shown: Shown,
}

/// Draws the choice of the size of pages.
pub fn paper_choice(ui: &mut Ui, look: Look, chosen: &mut Paper) {
    for (paper, name) in [(Paper::A4, "A4"), (Paper::Letter, "Letter")] {
        if widgets::toggle(ui, look, *chosen == paper, name).clicked() {
            *chosen = paper;
        }
    }
}

/// How a summary looks.
enum Shown {
    Picture(ColorImage),
    Texture(TextureHandle),
    /// The first lines, and how many there are.
    Lines(Vec<String>, usize),
}

/// How many lines of a text are shown.
const LINES: usize = 60;
/// The width of what stands beside the page.
const BESIDE: f32 = 250.0;
/// The height of the larger page in typographic points: ISO 216, A4.
const PAGE_POINTS: f32 = 842.0;

impl Summary {
    /// A summary on the paper that is usual here.
    pub fn on(paper: Paper) -> Self {
        Self { wish: Wish { format: Format::default(), paper }, ..Self::default() }
    }

    /// Whether something is being made or saved.
    pub fn is_busy(&self) -> bool {
        self.saving.is_some() || (!self.is_made() && self.message.is_none())
    }

    /// Whether what is asked for is there.
    fn is_made(&self) -> bool {
        self.made.as_ref().is_some_and(|made| made.wish == self.wish)
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
        let screen = context.content_rect().size();
        let height = (screen.y - 150.0).clamp(160.0, 760.0);
        self.take_in(context);
        // What lies around the record belongs on its paper.
        let is_known = !day.review.is_looking_around();
        if is_known && !self.is_made() && self.work.is_none() && self.message.is_none() {
            let scale = height * context.pixels_per_point() / PAGE_POINTS;
            self.work = Some(begin(context, self.wish, day, around.trust(), scale));
        }
        let ends = card::dialog(
            ui,
            look,
            "summary",
            (BESIDE + height + 2.0 * MARGIN).min(screen.x - 60.0),
            |ui| {
                ui.spacing_mut().item_spacing = vec2(GAP, 6.0);
                ui.label(Type::Title.text("Exception summary", look.colors.ink));
                ui.horizontal_top(|ui| {
                    ui.allocate_ui(vec2(BESIDE, height), |ui| {
                        ui.vertical(|ui| {
                            ui.set_width(BESIDE);
                            self.choices(ui, look);
                            self.buttons(ui, look, day, actions);
                        });
                    });
                    ui.add_space(MARGIN);
                    let (area, _) =
                        ui.allocate_exact_size(vec2(ui.available_width(), height), Sense::hover());
                    self.preview(ui, look, area);
                });
            },
        );
        if ends {
            actions.push(Action::Close);
        }
    }

    fn choices(&mut self, ui: &mut Ui, look: Look) {
        let before = self.wish;
        ui.horizontal(|ui| {
            for format in Format::ALL {
                if widgets::toggle(ui, look, self.wish.format == format, format.name()).clicked() {
                    self.wish.format = format;
                }
            }
        });
        let about = Type::Body.text(self.wish.format.about(), look.colors.ink);
        ui.add(egui::Label::new(about).wrap());
        if self.wish.format == Format::Pdf {
            ui.horizontal(|ui| paper_choice(ui, look, &mut self.wish.paper));
        }
        if self.wish != before {
            (self.message, self.saved) = (None, None);
        }
        ui.add_space(GAP);
    }

    fn buttons(&mut self, ui: &mut Ui, look: Look, day: &Day, actions: &mut Actions) {
        let ready = self.is_made();
        ui.horizontal(|ui| {
            ui.add_enabled_ui(ready && self.saving.is_none(), |ui| {
                let save = widgets::primary_button(ui, look, "Save as\u{2026}", "");
                if ready && !std::mem::replace(&mut self.begun, true) {
                    save.request_focus();
                }
                if save.clicked() {
                    actions.push(Action::Ask(Purpose::Summary(self.suggestion(day))));
                }
            });
            if widgets::button(ui, look, "Close", "Esc").clicked() {
                actions.push(Action::Close);
            }
        });
        if let Some(message) = &self.message {
            card::alert(ui, look, message);
        } else if let Some(path) = &self.saved {
            saved(ui, look, path, actions);
        } else if self.saving.is_some() {
            ui.label(Type::Strong.text("Saving\u{2026}", look.colors.ink));
        }
    }

    /// Draws the first page, or the first lines.
    fn preview(&mut self, ui: &Ui, look: Look, area: Rect) {
        let painter = ui.painter_at(area);
        let wish = self.wish;
        let Some(made) = self.made.as_mut().filter(|made| made.wish == wish) else {
            painter.rect_filled(area, 0.0, look.colors.sunken);
            if self.message.is_none() {
                let (anchor, ink) = (egui::Align2::CENTER_CENTER, look.colors.ink_soft);
                let text = "Preparing\u{2026}";
                let width = area.width();
                widgets::text_in(&painter, area.center(), anchor, text, Type::Body, ink, width);
                name(ui, area, Access::Status, text);
            }
            return;
        };
        if let Shown::Picture(picture) = &mut made.shown {
            let picture = std::mem::take(picture);
            let texture = ui.ctx().load_texture("first page", picture, TextureOptions::LINEAR);
            made.shown = Shown::Texture(texture);
        }
        match &made.shown {
            Shown::Picture(_) => {}
            Shown::Texture(texture) => {
                painter.rect_filled(area, 0.0, look.colors.sunken);
                let size = texture.size_vec2();
                let scale = (area.width() / size.x).min(area.height() / size.y);
                let page = Rect::from_center_size(area.center(), size * scale);
                let page = page.round_to_pixels(ui.pixels_per_point());
                egui::Image::from_texture(texture).paint_at(ui, page);
                painter.rect_stroke(page, 0.0, look.hairline(), StrokeKind::Outside);
                name(ui, area, Access::Image, "First page of the summary");
            }
            Shown::Lines(lines, all) => {
                painter.rect_filled(area, 0.0, look.colors.sunken);
                let step = 15.0;
                let room = ((area.height() - 2.0 * GAP) / step) as usize;
                for (row, line) in lines.iter().take(room).enumerate() {
                    let at = area.left_top() + vec2(GAP, GAP + (row as f32 + 0.5) * step);
                    let (anchor, ink) = (egui::Align2::LEFT_CENTER, look.colors.ink);
                    let width = area.width() - 2.0 * GAP;
                    widgets::text_in(&painter, at, anchor, line, Type::Small, ink, width);
                }
                let text = format!("First of {all} lines of the summary");
                name(ui, area, Access::Figure, &text);
            }
        }
    }

    fn take_in(&mut self, context: &egui::Context) {
        let lost = || {
            Why::from("the background task ended unexpectedly; please report this, with the record")
        };
        match Job::take(&mut self.work, context, lost) {
            Some(Ok(made)) => self.made = Some(made),
            Some(Err(why)) => self.message = Some(format!("It could not be created: {why}")),
            None => {}
        }
        match Job::take(&mut self.saving, context, lost) {
            Some(Ok(path)) => self.saved = Some(path),
            Some(Err(why)) => self.message = Some(why.into()),
            None => {}
        }
    }

    fn suggestion(&self, day: &Day) -> Suggestion {
        let first = day.task.files.first().map_or(Path::new(""), PathBuf::as_path);
        let stem = first.file_stem().unwrap_or_default().to_string_lossy();
        let extension = self.wish.format.extension();
        let folder = first.parent().filter(|_| self.wish.format != Format::Csv);
        let name = format!("{stem}-summary.{extension}");
        Suggestion { folder: folder.map(Path::to_owned), name, extension }
    }

    /// Saves what was made. The files that it was made from are never written over.
    pub fn save(&mut self, context: &egui::Context, day: &Day, path: &Path) {
        let Some(made) = self.made.as_ref().filter(|made| made.wish == self.wish) else { return };
        (self.message, self.saved) = (None, None);
        if day.sources().iter().any(|source| is_same(source, path)) {
            let text =
                "{}: the summary is made from this file and can't replace it; choose another name";
            self.message = Some(text.replace("{}", &path.display().to_string()));
            return;
        }
        let (bytes, path) = (Arc::clone(&made.bytes), path.to_owned());
        let work = move || match disk::write_output(&path, &bytes) {
            Ok(()) => Ok(path),
            Err(cause) => Err(disk::not_written(&path, &cause).into()),
        };
        self.saving = Some(Job::begin(context, work));
    }
}

/// Whether two paths lead to the same file.
fn is_same(one: &Path, other: &Path) -> bool {
    let real = |path: &Path| path.canonicalize().ok();
    one == other || real(one).is_some_and(|one| Some(one) == real(other))
}

fn name(ui: &Ui, area: Rect, role: Access, text: &str) {
    let response = ui.interact(area, Id::unique("preview of the summary"), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(role, true, text));
}

/// Begins to make a summary of the record on the screen.
fn begin(
    context: &egui::Context,
    wish: Wish,
    day: &Day,
    trust: Trust,
    scale: f32,
) -> Job<Result<Made, Why>> {
    let case = Arc::clone(&day.case);
    let first = day.task.files.first().cloned().unwrap_or_default();
    let hole = day.review.seen().and_then(|seen| seen.hole.clone());
    let others = day.others();
    let work = move || {
        let first = (first.as_path(), hole.as_ref(), &trust);
        make(wish, (&case, others.as_deref()), first, (trust.now(), scale))
    };
    Job::begin(context, work)
}

fn make(
    wish: Wish,
    (case, others): (&Case, Option<&[TankSheet]>),
    (first, hole, trust): (&Path, Option<&HoleBefore>, &Trust),
    (now, scale): (Instant, f32),
) -> Result<Made, Why> {
    let fresh = Subject::new(case)?;
    let file = case.plant().file.as_ref().map(|file| Path::new(&file.name));
    let reviewed = read_review((&Paths::of(first, file), file), &fresh, hole, trust);
    let reviewed = reviewed?;
    let name = first.file_stem().unwrap_or_default().to_string_lossy();
    let filing = Filing { case, record: &name, reviewed: &reviewed, others };
    let (bytes, shown) = match wish.format {
        Format::Pdf => {
            let made = filing.pdf_with_page(wish.paper, now, scale.clamp(0.2, 4.0));
            let (bytes, page) = made?;
            let Page { width, height, rgba } = page;
            let picture = ColorImage::from_rgba_unmultiplied([width, height], &rgba);
            (bytes, Shown::Picture(picture))
        }
        Format::Csv => text(filing.csv()?),
        Format::Json => text(filing.json()?),
    };
    Ok(Made { wish, bytes: bytes.into(), shown })
}

fn text(text: String) -> (Vec<u8>, Shown) {
    let lines = text.lines().take(LINES);
    // A line is cut where no screen is wide enough for more.
    let lines = lines.map(|line| line.chars().take(400).collect()).collect();
    let shown = Shown::Lines(lines, text.lines().count());
    (text.into_bytes(), shown)
}
