//! Many records in words: the day log, the summary of a range, the trace of a lot. The
//! sentences are the same on the command line, on paper and in the window.

use crate::before::{Before, Follows};
use crate::day::{Amount, RunRow, rule_name};
use crate::entry::Entry;
use crate::figure::{Kind, ShownIn};
use crate::held;
use crate::lot::LotTrace;
use crate::range::HoleRow;
use crate::summary::Summary;
use crate::totals::{Count, Passed, Totals, Waited};
use case::{CAUTION, about, amount, at_most_amount, plural};
use chrono::Days;
use review::{Stage, disposition_name};
use std::collections::{BTreeMap, BTreeSet};
use trace::{Duration, Lines, visible};

/// For so many days before a record may be discarded that is told (ours).
const NOTICE: u64 = 30;

/// A label with what there is to say.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// What it is about.
    pub label: &'static str,
    /// What there is to say.
    pub text: String,
}

/// Adds words to a text.
fn add(text: &mut String, words: std::fmt::Arguments<'_>) {
    text.push_str(&words.to_string());
}

impl RunRow {
    /// What went forward: `at least 140 gal`.
    pub fn volume(&self) -> String {
        self.forward.map_or("not metered".to_owned(), |volume| {
            let least = if self.incomplete { "at least " } else { "" };
            format!("{least}{}", amount(volume, &self.unit))
        })
    }
}

impl Amount {
    /// The volume in words: `about 140 gal, at most 151 gal`.
    pub fn words(&self) -> String {
        match (self.value, self.at_most) {
            (Some(value), Some(at_most)) => format!(
                "about {}, at most {}{}",
                amount(value, &self.unit),
                at_most_amount(at_most, &self.unit),
                if self.basis == "nominal" { " (nominal flow)" } else { "" },
            ),
            _ => "an unknown volume".to_owned(),
        }
    }
}

impl Entry {
    /// The record in one sentence: its verdict, or why it can't be read.
    pub fn sentence(&self) -> &str {
        match &self.day {
            Ok(day) => &day.verdict,
            Err(why) => why,
        }
    }

    /// How many exceptions there are and how many are resolved, and the same of what is to be closed;
    /// `None` where the record can't be read.
    pub fn exceptions_in_words(&self) -> Option<String> {
        let day = self.day.as_ref().ok()?;
        let mut words = match self.resolved() {
            (_, 0) => "no exception".to_owned(),
            (resolved, all) => format!("{resolved} of {} resolved", plural(all, "exception")),
        };
        if let (resolved, all @ 1..) = self.resolved_outside_production() {
            add(&mut words, format_args!("; {resolved} of {all} outside production resolved"));
        }
        if day.to_close > 0 {
            let closed = self.closed().0;
            let all = plural(day.to_close, "observation");
            add(&mut words, format_args!("; {closed} of {all} closed"));
        }
        if let open @ 1.. = self.open_holds() {
            add(&mut words, format_args!("; {} open", plural(open, "hold")));
        }
        Some(words)
    }

    /// How it follows the record before it, in words: the hole between them, or that it goes on;
    /// blank where there is nothing to say.
    pub fn before_in_words(&self) -> String {
        let Some(before) = &self.before else { return String::new() };
        let Before { name, same_date, follows, .. } = before;
        match follows {
            Follows::Continues { after_ms } => {
                format!("continues {name} ({} after its end)", hours(*after_ms))
            }
            Follows::Overlaps { by_ms } => {
                format!("overlaps {name} by {}", hours(*by_ms))
            }
            Follows::Hole { hole } if hole.is_exposed() => {
                let standing = if self.open_hole().is_some() { "not closed" } else { "closed" };
                format!("{}; {standing}", hole.in_words())
            }
            Follows::Hole { hole } if *same_date => hole.in_words(),
            Follows::Hole { .. } => String::new(),
        }
    }

    /// The readings closest to their limits, or furthest below; blank where nothing is known.
    pub fn worst_margins(&self, units: ShownIn) -> String {
        let Ok(day) = &self.day else { return String::new() };
        let figures = [("T", &day.worst_temperature), ("\u{394}P", &day.worst_differential)];
        let words = figures.into_iter().filter_map(|(what, figure)| {
            let figure = figure.as_ref()?.shown_in(units, Kind::Difference);
            Some(format!("{what} {}", figure.signed()))
        });
        words.collect::<Vec<_>>().join(", ")
    }
}

fn cleaning(outside: usize, cleanings: usize) -> String {
    format!("{outside} outside production (in {})", plural(cleanings, "cleaning"))
}

fn hours(milliseconds: i64) -> String {
    about(Duration::from_milliseconds(milliseconds))
}

fn waited(waited: &Waited) -> String {
    let Waited { records, median_hours, longest_hours } = waited;
    if *records == 0 {
        return "not available".to_owned();
    }
    format!(
        "median {median_hours:.1} h, longest {longest_hours:.1} h ({})",
        plural(*records, "record")
    )
}

/// The volumes that passed, in words.
pub(crate) fn passed(sums: &BTreeMap<String, Passed>) -> String {
    if sums.is_empty() {
        return "none".to_owned();
    }
    let words = sums.iter().map(|(unit, sum)| {
        let Passed { value, at_most, unknown } = sum;
        let unknown = match unknown {
            0 => String::new(),
            count => format!(", and {} of unknown volume", plural(*count, "part")),
        };
        let (about, most) = (amount(*value, unit), at_most_amount(*at_most, unit));
        format!("about {about}, at most {most}{unknown}")
    });
    words.collect::<Vec<_>>().join("; ")
}

fn counts(counts: &BTreeMap<String, Count>, name: impl Fn(&str) -> String) -> String {
    if counts.is_empty() {
        return "none".to_owned();
    }
    let words = counts.iter().map(|(key, count)| {
        format!("{} {} ({})", count.count, name(key), hours(count.duration_ms))
    });
    words.collect::<Vec<_>>().join("; ")
}

fn or_open(key: &str, name: impl Fn(&str) -> String) -> String {
    if key.is_empty() { "not resolved".to_owned() } else { name(key) }
}

impl Summary<'_> {
    /// The sums, label by label.
    pub fn facts(&self) -> Vec<Fact> {
        let Totals {
            records,
            unreadable,
            days,
            days_produced,
            recorded_ms,
            forward_ms,
            exception_ms,
            volume,
            volume_incomplete,
            passed: volume_passed,
            exceptions,
            resolved,
            outside_production,
            cleanings,
            to_close,
            closed,
            hold_lots: _,
            hold_tanks: _,
            hold_unnamed: _,
            holes,
            holes_closed,
            holes_ms,
            by_rule,
            by_cause,
            by_disposition,
            by_stage,
            overdue,
            to_review,
            to_sign,
            required,
            missing,
            signatures,
        } = self.totals();
        let unreadable = match unreadable {
            0 => String::new(),
            count => format!("; {count} can't be read"),
        };
        let lacking = match self.no_record().len() {
            0 => "every date between the first and the last has a record".to_owned(),
            count => {
                let units: BTreeSet<_> = self.no_record().iter().map(|(unit, _)| unit).collect();
                let of = if units.len() > 1 { " of one pasteurizer or another" } else { "" };
                format!("{}{of} without a record", plural(count, "date"))
            }
        };
        let volumes = volume.iter().map(|(unit, volume)| amount(*volume, unit));
        let mut volumes = volumes.collect::<Vec<_>>().join(", ");
        if volumes.is_empty() {
            "not metered".clone_into(&mut volumes);
        } else if *volume_incomplete > 0 {
            add(
                &mut volumes,
                format_args!(
                    " at least: in {} readings of the meter are missing",
                    plural(*volume_incomplete, "record")
                ),
            );
        }
        let stages = Stage::ALL.into_iter().filter_map(|stage| {
            let count = by_stage.get(stage.key()).copied().unwrap_or(0);
            (count > 0).then(|| format!("{count} {}", stage.name()))
        });
        // A signature may verify while what it was given to is there no more.
        let alarming = Stage::ALL.into_iter().filter(|stage| stage.is_alarming());
        let changed: usize = alarming.filter_map(|stage| by_stage.get(stage.key())).sum();
        let failing = match signatures.failing {
            0 if signatures.given == 0 => String::new(),
            0 if changed > 0 => {
                let verb = if changed == 1 { "is" } else { "are" };
                let records = plural(changed, "record");
                format!("; each verifies, but {records} {verb} not as signed")
            }
            0 => "; all hold".to_owned(),
            count => format!("; {count} FAIL"),
        };
        let mut facts = vec![
            Fact { label: "Records", text: format!("{records}{unreadable}") },
            Fact {
                label: "Days",
                text: format!(
                    "{} with a record, forward flow on {days_produced}; {lacking}",
                    plural(*days, "day")
                ),
            },
            Fact {
                label: "Forward flow",
                text: format!("{} of {} recorded", hours(*forward_ms), hours(*recorded_ms)),
            },
            Fact { label: "Metered forward", text: volumes },
            Fact {
                label: "Exceptions",
                text: match (*exceptions, *outside_production) {
                    (0, 0) => "none".to_owned(),
                    (0, outside) => {
                        format!("none in production; {}", cleaning(outside, *cleanings))
                    }
                    (all, outside) => {
                        let rules = counts(by_rule, rule_name);
                        let mut text = format!("{all}, {resolved} resolved: {rules}");
                        if outside > 0 {
                            add(&mut text, format_args!("; {}", cleaning(outside, *cleanings)));
                        }
                        text
                    }
                },
            },
            Fact {
                label: "Passed",
                text: format!(
                    "{} while exceptions lasted ({})",
                    passed(volume_passed),
                    hours(*exception_ms)
                ),
            },
            Fact { label: "To hold", text: self.to_hold() },
            Fact {
                label: "On hold",
                text: held::in_words(self.counted()).unwrap_or_else(|| "nothing".to_owned()),
            },
            Fact {
                label: "Holes",
                text: match *holes {
                    0 => "none next to forward flow".to_owned(),
                    count => format!(
                        "{} between records, not diverted at both ends, {} in all; {} not closed",
                        plural(count, "hole"),
                        hours(*holes_ms),
                        count - holes_closed
                    ),
                },
            },
            Fact {
                label: "To close",
                text: match *to_close {
                    0 => "no observation".to_owned(),
                    all => format!("{closed} of {} closed", plural(all, "observation")),
                },
            },
            Fact { label: "Causes", text: counts(by_cause, |key| or_open(key, str::to_owned)) },
            Fact {
                label: "Dispositions",
                text: counts(by_disposition, |key| {
                    or_open(key, |key| disposition_name(key).to_owned())
                }),
            },
            Fact {
                label: "Review",
                text: format!("{}; {overdue} overdue", stages.collect::<Vec<_>>().join(", ")),
            },
            Fact { label: "Time to review", text: waited(to_review) },
            Fact { label: "Time to approve", text: waited(to_sign) },
            Fact {
                label: "Completeness",
                text: format!("{missing} of {} missing", plural(*required, "item")),
            },
            Fact {
                label: "Signatures",
                text: format!(
                    "{} given, {} current{failing}",
                    signatures.given, signatures.standing
                ),
            },
        ];
        if self.unnamed() > 0 {
            facts.push(Fact {
                label: "Unknown",
                text: format!(
                    "{} in the range without the name of any {}, and so perhaps of this one",
                    plural(self.unnamed(), "record"),
                    if self.range().lot.is_some() { "product or lot" } else { "product" }
                ),
            });
        }
        let kept = self.kept();
        facts.push(Fact {
            label: "Read",
            text: if kept == 0 {
                "every record was read and audited for this summary".to_owned()
            } else {
                format!(
                    "{} kept from an earlier scan, as size and time of their files are unchanged; verification reads every byte",
                    plural(kept, "record")
                )
            },
        });
        facts
    }

    /// What is still to hold, in words.
    fn to_hold(&self) -> String {
        let Totals { hold_lots, hold_tanks, hold_unnamed, .. } = self.totals();
        let mut words = Vec::new();
        for (what, names) in [("lots", hold_lots), ("tanks", hold_tanks)] {
            if !names.is_empty() {
                words.push(format!("{what} {}", names.join(", ")));
            }
        }
        if *hold_unnamed > 0 {
            words.push(format!(
                "for {} neither lot nor tank is recorded: everything made on their dates",
                plural(*hold_unnamed, "exception")
            ));
        }
        if words.is_empty() {
            "nothing: no exception is open, and no product is held".to_owned()
        } else {
            words.join("; ")
        }
    }

    /// The records that reach the end of the plant's retention within a month, or have; `None` where there
    /// is none.
    pub fn retention(&self) -> Option<String> {
        let soon = self.today().checked_add_days(Days::new(NOTICE))?;
        let ends = |entry: &Entry| {
            let day = entry.day.as_ref().ok()?;
            Some((day.kept_until.filter(|until| *until <= soon)?, day.date))
        };
        let (until, date) = self.entries().filter_map(ends).min()?;
        let count = self.entries().filter_map(ends).count();
        Some(format!(
            "{} at the end of the time for which the plant keeps them, or within {NOTICE} days of it (first \
             {date}, kept until {until}); nothing is deleted by this program",
            plural(count, "record")
        ))
    }

    /// The day log: one line a record, then the holes between them and the dates without one.
    pub fn register_text(&self) -> Lines {
        let mut text = Lines::new();
        let mut widths = [10, 4, 6, 5];
        let rows: Vec<([String; 4], Vec<String>)> = self
            .entries()
            .map(|entry| {
                let date = entry.date().map_or("no date".to_owned(), |date| date.to_string());
                let cells = [
                    date,
                    entry.unit().to_owned(),
                    entry.name(),
                    entry.review.stage.name().to_owned(),
                ];
                let cells = cells.map(|cell| visible(&cell).into_owned());
                let mut rest = entry
                    .exceptions_in_words()
                    .unwrap_or_else(|| format!("can't be read: {}", entry.sentence()));
                let margins = entry.worst_margins(ShownIn::default());
                if !margins.is_empty() {
                    add(&mut rest, format_args!("; {margins}"));
                }
                if let Some(due) = entry.due() {
                    add(&mut rest, format_args!("; review due {due}"));
                }
                let before = Some(entry.before_in_words()).filter(|before| !before.is_empty());
                let below = before
                    .into_iter()
                    .chain(entry.equipment())
                    .chain(entry.review.faults.iter().cloned());
                (cells, std::iter::once(rest).chain(below).collect())
            })
            .collect();
        for (cells, _) in &rows {
            for (width, cell) in widths.iter_mut().zip(cells) {
                *width = (*width).max(cell.chars().count());
            }
        }
        for (cells, said) in rows {
            for (width, cell) in widths.iter().zip(&cells) {
                text.part(format_args!("{cell:<width$}  "));
            }
            for (number, line) in said.iter().enumerate() {
                let indent = if number == 0 { "" } else { "    " };
                text.line(format_args!("{indent}{line}"));
            }
        }
        for hole in self.holes() {
            text.line(format_args!("hole: {}", hole.in_words()));
        }
        for span in self.no_record_spans() {
            text.line(format_args!("no record: {span}"));
        }
        if let Some(told) = self.retention() {
            text.line(format_args!("retention: {told}"));
        }
        text.end();
        text.line(format_args!("{CAUTION}"));
        text
    }

    /// The whole summary for a person.
    pub fn text(&self) -> Lines {
        let mut text = Lines::new();
        text.line(format_args!("Summary of {}", self.words()));
        text.end();
        for Fact { label, text: said } in self.facts() {
            text.line(format_args!("{label:<16}{said}"));
        }
        text.end();
        for one in self.series() {
            if one.drift.is_some() {
                let sentence = one.sentence();
                text.line(format_args!("{}: {sentence}", one.title()));
            }
        }
        text.end();
        text.append(&self.register_text());
        text
    }
}

impl LotTrace<'_> {
    /// The trace for a person.
    pub fn text(&self) -> Lines {
        let mut text = Lines::new();
        text.line(format_args!("Lot {}", self.lot));
        let mut line = |indent: usize, said: String| {
            text.line(format_args!("{:indent$}{said}", ""));
        };
        if self.records.is_empty() {
            line(2, "No record names it.".to_owned());
        }
        for entry in &self.records {
            let date = entry.date().map_or(String::new(), |date| date.to_string());
            line(
                2,
                format!(
                    "{date}  {}  {}: {}",
                    entry.unit(),
                    entry.name(),
                    entry.review.stage.name()
                ),
            );
            for (_, run) in self.runs.iter().filter(|(of, _)| std::ptr::eq(*of, *entry)) {
                let tank = match run.tank.as_str() {
                    "" => String::new(),
                    tank => format!(", to {}", case::named("tank", tank)),
                };
                line(
                    4,
                    format!(
                        "run of {} from {} to {}: {} in forward flow, {}{tank}",
                        run.product,
                        run.start,
                        run.end,
                        hours(run.forward_ms),
                        run.volume()
                    ),
                );
            }
            for (_, one) in self.exceptions.iter().filter(|(of, _)| std::ptr::eq(*of, *entry)) {
                let decided = entry.review.resolution(&one.id);
                let decided =
                    decided.map_or("not resolved".to_owned(), |(made, _)| made.in_words());
                line(
                    4,
                    format!(
                        "exception {}: {} from {}, {}; {decided}",
                        one.id,
                        one.rule_name(),
                        one.start,
                        hours(one.duration_ms)
                    ),
                );
            }
            for (_, amount) in self.passed.iter().filter(|(of, _)| std::ptr::eq(*of, *entry)) {
                line(4, format!("passed while exceptions lasted: {}", amount.words()));
            }
            for signed in entry.review.signatures() {
                let verdict = if signed.verdict.holds() { "holds" } else { "FAILS" };
                line(4, format!("signature {verdict}: {}", signed.found()));
            }
            for fault in &entry.review.faults {
                line(4, fault.clone());
            }
        }
        for (entry, hole) in &self.holes {
            let hole = HoleRow { entry, hole };
            line(2, format!("it may have run in a hole: {}", hole.in_words()));
        }
        if self.unnamed > 0 {
            line(2, format!("{} without any lot may hold it.", plural(self.unnamed, "record")));
        }
        for entry in &self.unreadable {
            line(
                2,
                format!("{} can't be read and may hold it: {}", entry.name(), entry.sentence()),
            );
        }
        text.end();
        text.line(format_args!("{CAUTION}"));
        text
    }
}
