//! The summary of a range: from a date to a date, of all records or of one product or lot, to read
//! here and to save.

use super::format::RangeFormat;
use super::parts::{facts, inner};
use crate::action::{Action, Actions};
use crate::clock::Clock;
use crate::dialogs::Purpose;
use crate::job::Job;
use crate::opener::saved;
use crate::problem::Problem;
use crate::summary::paper_choice;
use crate::theme::widgets;
use crate::theme::{GAP, Look, MARGIN, Type};
use crate::why::Why;
use ::review::{Books, Imprint};
use archive::{Scan, ScanProgress, Trust};
use chrono::{Datelike as _, Months, NaiveDate};
use daybook::{Entry, Fact, Range, Summary};
use egui::{Frame, Id, TextEdit, Ui};
use paper::{Paper, RangeSummary};
use std::path::{Path, PathBuf};

/// The page.
#[derive(Default)]
pub struct RangePage {
    /// From, to, unit, product, lot, as typed.
    typed: [String; 5],
    /// The size of the PDF's pages.
    paper: Paper,
    /// Whether the keyboard is to go to the first field.
    pub(super) focus: bool,
    /// What was asked for last, and what it gave.
    made: Option<(Range, Vec<Fact>)>,
    saving: Option<Job<Result<PathBuf, Why>>>,
    saved: Option<PathBuf>,
}

/// A range that is asked for often.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Preset {
    Month,
    Quarter,
    Year,
}

impl Preset {
    const ALL: [Self; 3] = [Self::Month, Self::Quarter, Self::Year];

    const fn title(self) -> &'static str {
        match self {
            Self::Month => "Last month",
            Self::Quarter => "Last quarter",
            Self::Year => "Last 12 months",
        }
    }

    /// Its first and last day: whole months, the current one left out.
    fn span(self, today: NaiveDate) -> [NaiveDate; 2] {
        let this_month = today.with_day(1).unwrap_or(today);
        let (ends_before, months) = match self {
            Self::Month => (this_month, 1),
            Self::Year => (this_month, 12),
            Self::Quarter => {
                let into = Months::new(this_month.month0() % 3);
                (this_month.checked_sub_months(into).unwrap_or(this_month), 3)
            }
        };
        let first = ends_before.checked_sub_months(Months::new(months)).unwrap_or(ends_before);
        [first, ends_before.pred_opt().unwrap_or(ends_before)]
    }
}

const FIELDS: [&str; 5] = ["From", "To", "Pasteurizer", "Product", "Lot"];

impl RangePage {
    /// The page with the paper that is usual here.
    pub fn on(paper: Paper) -> Self {
        Self { paper, ..Self::default() }
    }

    /// Whether a summary is being written.
    pub(super) const fn is_busy(&self) -> bool {
        self.saving.is_some()
    }

    /// Forgets what was worked out from other records.
    pub(super) fn forget(&mut self) {
        self.made = None;
    }

    /// Asks for a lot, whenever it ran.
    pub(super) fn ask_for_lot(&mut self, lot: &str) {
        self.typed = std::array::from_fn(|_| String::new());
        let [.., typed] = &mut self.typed;
        lot.clone_into(typed);
        self.made = None;
    }

    /// What is asked for, or what is wrong with it.
    fn range(&self) -> Result<Range, Why> {
        let [from, to, unit, product, lot] = &self.typed;
        let date = |name: &str, text: &str| match text.trim() {
            "" => Ok(None),
            text => text.parse::<NaiveDate>().map(Some).map_err(|cause| {
                format!(
                    "{name}: \u{201c}{text}\u{201d} is not a date such as 2026-03-04 ({cause})."
                )
            }),
        };
        let word = |text: &str| Some(text.trim().to_owned()).filter(|text| !text.is_empty());
        Ok(Range {
            from: date("From", from)?,
            to: date("To", to)?,
            unit: word(unit),
            product: word(product),
            lot: word(lot),
        })
    }

    /// Draws the page.
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        look: Look,
        entries: &[Entry],
        clock: Clock,
        actions: &mut Actions,
    ) {
        let colors = look.colors;
        let frame = Frame::new().fill(colors.surface).inner_margin(inner());
        egui::CentralPanel::default().frame(frame).show(ui, |ui| {
            ui.horizontal_wrapped(|ui| {
                for (name, typed) in FIELDS.into_iter().zip(&mut self.typed) {
                    let label = ui.label(Type::Strong.text(name, colors.ink));
                    let hint = if matches!(name, "From" | "To") { "2026-03-04" } else { "any" };
                    // A message that appears above must not take the keyboard away.
                    let id = Id::unique(("range", name));
                    let field =
                        TextEdit::singleline(typed).id(id).desired_width(110.0).hint_text(hint);
                    let field = ui.add(field).labelled_by(label.id);
                    if std::mem::take(&mut self.focus) {
                        field.request_focus();
                    }
                    ui.add_space(GAP);
                }
            });
            ui.horizontal_wrapped(|ui| {
                for preset in Preset::ALL {
                    let span = preset.span(clock.today());
                    let is_it = span.map(|day| day.to_string())
                        == [self.typed[0].clone(), self.typed[1].clone()];
                    if widgets::toggle(ui, look, is_it, preset.title()).clicked() {
                        let [from, to] = span.map(|day| day.to_string());
                        (self.typed[0], self.typed[1]) = (from, to);
                    }
                }
            });
            ui.add_space(GAP);
            let range = self.range();
            let facts_of = match range {
                Ok(range) => self.facts(entries, range, clock),
                Err(why) => Err(why),
            };
            match facts_of {
                Ok(told) => {
                    ui.horizontal_wrapped(|ui| {
                        for format in RangeFormat::ALL {
                            if widgets::button(ui, look, format.title(), "").clicked() {
                                let name = self.name(entries, clock);
                                actions.push(Action::Ask(Purpose::Range(format, name)));
                            }
                            if format == RangeFormat::Pdf {
                                paper_choice(ui, look, &mut self.paper);
                                ui.add_space(GAP);
                            }
                        }
                        if self.saving.is_some() {
                            ui.label(Type::Body.text("Saving\u{2026}", colors.ink_soft));
                        }
                    });
                    if let Some(path) = self.saved.as_ref().filter(|_| self.saving.is_none()) {
                        saved(ui, look, path, actions);
                    }
                    ui.add_space(MARGIN);
                    egui::ScrollArea::vertical()
                        .auto_shrink(false)
                        .id_salt("range")
                        .show(ui, |ui| facts(ui, look, &told, 120.0));
                }
                Err(why) => {
                    ui.label(Type::Body.text(why, colors.alert));
                }
            }
        });
    }

    /// What a file of it is called: the range in words, as letters that every disk takes.
    fn name(&self, entries: &[Entry], clock: Clock) -> String {
        let summary =
            self.range().ok().and_then(|range| Summary::new(entries, range, clock.today()).ok());
        let words = summary.map_or_else(|| "summary".to_owned(), |summary| summary.words());
        let fits = |letter: char| letter.is_alphanumeric() || matches!(letter, ' ' | '-' | '_');
        words.chars().filter(|&letter| fits(letter)).collect()
    }

    fn facts(&mut self, entries: &[Entry], range: Range, clock: Clock) -> Result<Vec<Fact>, Why> {
        if let Some((_, told)) = self.made.as_ref().filter(|(made, _)| *made == range) {
            return Ok(told.clone());
        }
        let summary = Summary::new(entries, range.clone(), clock.today());
        let told = summary?.facts();
        self.made = Some((range, told.clone()));
        Ok(told)
    }

    /// Makes the summary as it was asked for and writes it, off the thread that draws. It vouches for
    /// its records, so every one is read again: rows are kept by times and length of the files.
    pub(super) fn save(
        &mut self,
        folder: &Path,
        (format, path): (RangeFormat, PathBuf),
        trust: Trust,
        clock: Clock,
        context: &egui::Context,
    ) {
        let Ok(range) = self.range() else { return };
        let (folder, paper) = (folder.to_owned(), self.paper);
        self.saved = None;
        self.saving = Some(Job::begin(context, move || {
            let scan = archive::scan(&folder, None, &trust, &ScanProgress::default());
            let Scan { entries, books, .. } = scan?;
            let books: Vec<Imprint> = books.iter().filter_map(Books::imprint).collect();
            let summary = Summary::new(&entries, range, clock.today())?;
            let made = clock.local();
            let bytes = match format {
                RangeFormat::Pdf => {
                    let about =
                        RangeSummary { summary: &summary, paper, created: made, books: &books };
                    paper::range_summary(&about)?
                }
                RangeFormat::Days => summary.days().csv()?.into_bytes(),
                RangeFormat::Exceptions => summary.exceptions().csv()?.into_bytes(),
                RangeFormat::Json => {
                    format!("{:#}\n", summary.json(&made.to_rfc3339())).into_bytes()
                }
            };
            disk::write_output(&path, &bytes).map_err(|cause| disk::not_written(&path, &cause))?;
            Ok(path)
        }));
    }

    /// Takes in what was written; gives what went wrong.
    pub fn poll(&mut self, context: &egui::Context) -> Option<Problem> {
        let lost = || "The background task ended unexpectedly. Please report this.".into();
        match Job::take(&mut self.saving, context, lost)? {
            Ok(path) => {
                self.saved = Some(path);
                None
            }
            Err(text) => Some(Problem::new("The summary was not saved", text)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_months_before_this_one() {
        let date = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap_or_default();
        for (today, preset, first, last) in [
            (date(2026, 3, 17), Preset::Month, date(2026, 2, 1), date(2026, 2, 28)),
            (date(2026, 1, 1), Preset::Month, date(2025, 12, 1), date(2025, 12, 31)),
            (date(2026, 3, 31), Preset::Quarter, date(2025, 10, 1), date(2025, 12, 31)),
            (date(2026, 4, 1), Preset::Quarter, date(2026, 1, 1), date(2026, 3, 31)),
            (date(2026, 3, 17), Preset::Year, date(2025, 3, 1), date(2026, 2, 28)),
        ] {
            assert_eq!(preset.span(today), [first, last], "{today} {preset:?}");
        }
    }
}
