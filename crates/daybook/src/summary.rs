//! The summary of a range for an auditor: which records fall into it, the holes between them, and the
//! tables of days and exceptions.

use crate::before::Before;
use crate::day::{Amount, Day, ExceptionRow, RunRow};
use crate::entry::Entry;
use crate::error::Error;
use crate::figure::Figure;
use crate::followed::Series;
use crate::held::Held;
use crate::join::{ProductionDay, production_days};
use crate::json::{hole_closed, signature};
use crate::range::{Counted, HoleRow, Range};
use crate::totals::{Totals, count, total};
use case::{Builder, Table, plural};
use chrono::NaiveDate;
use plant::Zone;
use review::{Correction, HoleBefore, Mark, Meaning, Settlement, disposition_name};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// The summary of a range.
#[derive(Debug, Clone, PartialEq)]
pub struct Summary<'a> {
    range: Range,
    today: NaiveDate,
    counted: Vec<Counted<'a>>,
    holes: Vec<HoleRow<'a>>,
    /// Records of these dates and units that name no product, or no lot, where one was asked for, so
    /// that they can't be told to hold it.
    unnamed: usize,
    no_record: Vec<(String, NaiveDate)>,
    totals: Totals,
    series: Vec<Series>,
}

impl<'a> Summary<'a> {
    /// The summary of the records that fall into `range`, as of `today`.
    ///
    /// # Errors
    /// When the range ends before it begins.
    pub fn new(entries: &'a [Entry], range: Range, today: NaiveDate) -> Result<Self, Error> {
        if let (Some(from), Some(to)) = (range.from, range.to)
            && to < from
        {
            return Err(Error::Backwards { from, to });
        }
        let in_range: Vec<&Entry> = entries.iter().filter(|entry| range.holds(entry)).collect();
        let wide = Range { product: None, lot: None, ..range.clone() };
        let is_unnamed = |entry: &&Entry| {
            wide.holds(entry) && entry.day.as_ref().is_ok_and(|day| range.can_not_be_told(day))
        };
        let unnamed = entries.iter().filter(is_unnamed).count();
        let no_record = no_record(entries, &wide);
        let counted: Vec<Counted<'_>> =
            in_range.iter().map(|entry| Counted::of(entry, &range)).collect();
        let holes: Vec<HoleRow<'_>> =
            entries.iter().filter_map(HoleRow::of).filter(|one| one.is_in(&range)).collect();
        let totals = total(&counted, &holes, today);
        let series = Series::all(&in_range);
        Ok(Self { range, today, counted, holes, unnamed, no_record, totals, series })
    }

    /// What was asked for.
    pub const fn range(&self) -> &Range {
        &self.range
    }

    /// The range in words; where an end was left open, the date of the record there.
    pub fn words(&self) -> String {
        let Range { from, to, unit, product, lot } = &self.range;
        let dates = || self.entries().filter_map(Entry::date);
        let date = |asked: &Option<NaiveDate>, found: Option<NaiveDate>| {
            asked.or(found).map_or_else(|| "no date".to_owned(), |date| date.to_string())
        };
        let mut words = format!("{} to {}", date(from, dates().min()), date(to, dates().max()));
        for (what, which) in [("pasteurizer", unit), ("product", product), ("lot", lot)] {
            if let Some(which) = which {
                words.push_str(", ");
                words.push_str(what);
                words.push(' ');
                words.push_str(which);
            }
        }
        words
    }

    /// The records, in order.
    pub fn entries(&self) -> impl Iterator<Item = &'a Entry> + Clone {
        self.counted.iter().map(|one| one.entry)
    }

    /// The holes between records that the range touches, closed or not, in order of the later
    /// records. Whatever product or lot is asked for, it may have run in one.
    pub fn holes(&self) -> &[HoleRow<'a>] {
        &self.holes
    }

    /// The records that can be read by date and pasteurizer: one production day each.
    pub fn production_days(&self) -> Vec<ProductionDay<'a>> {
        production_days(self.entries())
    }

    /// Until when the records are to be reviewed, and who asks for it: a sentence for each answer
    /// that the plant files give.
    pub fn deadlines(&self) -> Vec<String> {
        let days = self.counted.iter().filter_map(|one| one.day);
        let asked: BTreeSet<(u32, &str)> =
            days.map(|day| (day.review_within, day.review_source.as_str())).collect();
        let sentences = asked.into_iter().map(|(within, source)| {
            format!(
                "Review is due within {} of a record's end: {source}. Working days are Monday to \
                 Friday; holidays are not known.",
                plural(within as usize, "working day")
            )
        });
        sentences.collect()
    }

    /// The exceptions that count, with their records, in order.
    pub fn counted_exceptions(&self) -> impl Iterator<Item = (&'a Entry, &'a ExceptionRow)> {
        self.counted
            .iter()
            .flat_map(|one| one.exceptions.iter().map(|exception| (one.entry, *exception)))
    }

    /// The runs of the lot that is asked for, with their records, in order; none where all lots count.
    pub fn runs_of_lot(&self) -> impl Iterator<Item = (&'a Entry, &'a RunRow)> {
        let of_lot = self.counted.iter().filter(|_| self.range.lot.is_some());
        of_lot.filter_map(|one| Some((one.entry, one.day?))).flat_map(|(entry, day)| {
            let runs = day.runs.iter().filter(|run| self.range.takes_run(run));
            runs.map(move |run| (entry, run))
        })
    }

    /// What counts, a record each.
    pub(crate) fn counted(&self) -> &[Counted<'a>] {
        &self.counted
    }

    /// What is on hold in the records, and what was.
    pub fn held(&self) -> Held<'a> {
        Held::of(self.entries())
    }

    /// The day as of which it is.
    pub const fn today(&self) -> NaiveDate {
        self.today
    }

    /// The sums.
    pub const fn totals(&self) -> &Totals {
        &self.totals
    }

    /// What is followed over the days.
    pub fn series(&self) -> &[Series] {
        &self.series
    }

    /// The dates on which a pasteurizer has no record, between its first and its last in the range.
    pub fn no_record(&self) -> &[(String, NaiveDate)] {
        &self.no_record
    }

    /// The same as spans of dates that follow one another, in words.
    pub fn no_record_spans(&self) -> Vec<String> {
        let next = |one: &(String, NaiveDate), other: &(String, NaiveDate)| {
            one.0 == other.0 && one.1.succ_opt() == Some(other.1)
        };
        let spans = self.no_record.chunk_by(next).filter_map(|span| {
            let ((unit, first), (_, last)) = (span.first()?, span.last()?);
            Some(if first == last {
                format!("{first} {unit}")
            } else {
                format!("{first} to {last} {unit} ({} days)", span.len())
            })
        });
        spans.collect()
    }

    /// How many records name no product, or no lot, where one was asked for.
    pub const fn unnamed(&self) -> usize {
        self.unnamed
    }

    /// One row a record, the exceptions in production apart from those in cleaning. The columns are described in `docs/file-formats.md`.
    pub fn days(&self) -> Table {
        let value = |figure: Option<&Figure>| figure.map(|figure| figure.value);
        let symbol = |figure: Option<&Figure>| figure.map(|figure| figure.unit.clone());
        let only = |amounts: &[Amount], of: fn(&Amount) -> Option<f64>| {
            amounts.iter().map(of).sum::<Option<f64>>().filter(|_| !amounts.is_empty())
        };
        let day = |of: fn(&Day) -> Option<String>| move |one: &Counted<'_>| one.day.and_then(of);
        Builder::of(&self.counted, Zone::UTC)
            .text("date", |one| one.entry.date().map(|date| date.to_string()))
            .text("plant", day(|day| Some(day.subject.plant.clone())))
            .text("unit", Counted::unit)
            .text("record", |one| Some(one.entry.name()))
            .text("problem", |one| one.entry.day.as_ref().err().cloned())
            .text("stage", |one| Some(one.entry.review.stage.key().to_owned()))
            .text("start", day(|day| Some(day.subject.start.clone())))
            .text("end", day(|day| Some(day.subject.end.clone())))
            .integer("recorded_ms", |one| one.day.map(|day| day.recorded_ms))
            .integer("forward_ms", |one| one.day.map(|_| one.forward_ms))
            .integer("exception_ms", |one| one.day.map(|day| day.exception_ms))
            .number("volume", |one| one.forward.values().next().copied())
            .text("volume_unit", |one| one.forward.keys().next().cloned())
            .truth("volume_incomplete", |one| one.incomplete)
            .number("passed", |one| only(&one.passed, |amount| amount.value))
            .number("passed_at_most", |one| only(&one.passed, |amount| amount.at_most))
            .text("passed_unit", |one| one.passed.first().map(|amount| amount.unit.clone()))
            .text("passed_basis", |one| one.passed.first().map(|amount| amount.basis.clone()))
            .text("hold_lots", |one| words(&one.day?.hold_lots))
            .text("hold_tanks", |one| words(&one.day?.hold_tanks))
            .integer("hold_unnamed", |one| one.day.map(|day| count(day.hold_unnamed)))
            .integer("exceptions", |one| one.day.map(|_| count(one.in_production().count())))
            .integer("resolved", |one| Some(count(one.resolved())))
            .integer("exceptions_outside_production", |one| {
                one.day.map(|_| count(one.outside_production().0))
            })
            .integer("cleanings", |one| one.day.map(|_| count(one.outside_production().1)))
            .integer("to_close", |one| one.day.map(|day| count(day.to_close)))
            .integer("closed", |one| Some(count(one.entry.closed().0)))
            .integer("holds_open", |one| Some(count(one.entry.open_holds())))
            .integer("holds_ended", |one| {
                Some(count(one.entry.review.holds().len() - one.entry.open_holds()))
            })
            .text("record_before", |one| one.entry.before.as_ref().map(|one| one.name.clone()))
            .text("follows", |one| {
                one.entry.before.as_ref().map(|one| one.follows.key().to_owned())
            })
            .integer("hole_before_ms", |one| Some(hole_before(one)?.length_ms))
            .text("hole_before_from", |one| Some(hole_before(one)?.position_before.clone()))
            .text("hole_before_to", |one| Some(hole_before(one)?.position_after.clone()))
            .truth("hole_before_to_close", |one| one.entry.hole().is_some())
            .text("hole_before_closed", |one| {
                one.entry.hole_closed().map(|made| made.value.clone())
            })
            .number("temperature_margin", |one| {
                value(one.day.and_then(|day| day.temperature_margin.as_ref()))
            })
            .number("worst_temperature", |one| {
                value(one.day.and_then(|day| day.worst_temperature.as_ref()))
            })
            .text("temperature_unit", |one| {
                symbol(one.day.and_then(|day| day.worst_temperature.as_ref()))
            })
            .number("differential_margin", |one| {
                value(one.day.and_then(|day| day.differential_margin.as_ref()))
            })
            .number("worst_differential", |one| {
                value(one.day.and_then(|day| day.worst_differential.as_ref()))
            })
            .text("differential_unit", |one| {
                symbol(one.day.and_then(|day| day.worst_differential.as_ref()))
            })
            .number("recorder_offset", |one| {
                value(one.day.and_then(|day| day.recorder_offset.as_ref()))
            })
            .number("zero_check", |one| value(one.day.and_then(|day| day.zero_check.as_ref())))
            .number("cut_out", |one| value(one.day.and_then(|day| day.cut_out.as_ref())))
            .number("regeneration_percent", |one| {
                value(one.day.and_then(|day| day.regeneration.as_ref()))
            })
            .number("approach", |one| value(one.day.and_then(|day| day.approach.as_ref())))
            .integer("diverts", |one| one.day.map(|day| count(day.diverts)))
            .integer("required", |one| one.day.map(|day| count(day.required)))
            .integer("missing", |one| one.day.map(|day| count(one.still_missing(day))))
            .text("due", |one| one.entry.due().map(|date| date.to_string()))
            .number("hours_to_review", |one| one.hours_to(Meaning::Reviewed))
            .number("hours_to_sign", |one| one.hours_to(Meaning::Approved))
            .integer("signatures", |one| Some(count(one.entry.review.signatures().len())))
            .integer("signatures_failing", |one| {
                let signatures = one.entry.review.signatures().iter();
                Some(count(signatures.filter(|signed| !signed.verdict.holds()).count()))
            })
            .text("faults", |one| {
                let faults = &one.entry.review.faults;
                (!faults.is_empty()).then(|| faults.join("; "))
            })
            .text(
                "source_sha256",
                day(|day| {
                    let sources = day.subject.sources.iter().map(|source| source.sha256.as_str());
                    Some(sources.collect::<Vec<_>>().join(" "))
                }),
            )
            .text("audit_sha256", day(|day| Some(day.subject.audit.clone())))
            .text("journal_sha256", |one| one.entry.review.head().map(|head| head.to_string()))
            .done()
    }

    /// One row an exception. The columns are described in `docs/file-formats.md`.
    pub fn exceptions(&self) -> Table {
        let rows: Vec<(&Counted<'_>, &ExceptionRow)> = self
            .counted
            .iter()
            .flat_map(|one| one.exceptions.iter().map(move |exception| (one, *exception)))
            .collect();
        let decided = |of: fn(&Settlement, &Mark) -> String| {
            move |(one, exception): &(&Counted<'_>, &ExceptionRow)| {
                let (settlement, mark) = one.entry.review.resolution(&exception.id)?;
                Some(of(settlement, mark)).filter(|text| !text.is_empty())
            }
        };
        Builder::of(&rows, Zone::UTC)
            .text("date", |(one, _)| one.entry.date().map(|date| date.to_string()))
            .text("plant", |(one, _)| one.day.map(|day| day.subject.plant.clone()))
            .text("unit", |(one, _)| one.unit())
            .text("record", |(one, _)| Some(one.entry.name()))
            .text("stage", |(one, _)| Some(one.entry.review.stage.key().to_owned()))
            .text("id", |(_, row)| Some(row.id.clone()))
            .text("rule", |(_, row)| Some(row.rule.clone()))
            .text("found_causes", |(_, row)| words(&row.causes))
            .text("start", |(_, row)| Some(row.start.clone()))
            .text("end", |(_, row)| Some(row.end.clone()))
            .integer("duration_ms", |(_, row)| Some(row.duration_ms))
            .integer("observed_duration_ms", |(_, row)| Some(row.observed_ms))
            .integer("outer_duration_ms", |(_, row)| Some(row.at_most_ms))
            .number("worst_value", |(_, row)| row.worst.as_ref().map(|worst| worst.value))
            .number("worst_limit", |(_, row)| row.limit)
            .text("worst_unit", |(_, row)| row.worst.as_ref().map(|worst| worst.unit.clone()))
            .number("volume", |(_, row)| row.volume.value)
            .number("outer_volume", |(_, row)| row.volume.at_most)
            .text("volume_unit", |(_, row)| Some(row.volume.unit.clone()))
            .text("volume_basis", |(_, row)| Some(row.volume.basis.clone()))
            .text("product", |(_, row)| words(&row.products))
            .text("lot", |(_, row)| words(&row.lots))
            .text("tank", |(_, row)| words(&row.tanks))
            .text("positions", |(_, row)| words(&row.positions))
            .text("shift", |(_, row)| row.shift.clone())
            .integer("episode", |(_, row)| Some(count(row.episode)))
            .truth("within_response", |(_, row)| row.within_response)
            .truth("outside_production", |(_, row)| row.outside_production)
            .integer("cleaning", |(_, row)| row.cleaning.map(count))
            .truth("resolved", |(one, row)| one.entry.review.resolution(&row.id).is_some())
            .text("cause", decided(|made, _| made.cause.clone()))
            .text("action", decided(|made, _| made.action.clone()))
            .text("under_control", decided(|made, _| corrected(made, |one| &one.under_control)))
            .text("recurrence", decided(|made, _| corrected(made, |one| &one.recurrence)))
            .text("product_safe", decided(|made, _| corrected(made, |one| &one.product)))
            .text("disposition", decided(|made, _| made.disposition.clone()))
            .text("disposition_reason", decided(|made, _| made.disposition_reason.clone()))
            .text("decided_quantity", decided(|made, _| made.quantity.clone()))
            .text("decided_lot", decided(|made, _| made.lot.clone()))
            .text("hold", |(one, row)| {
                let state = one.entry.review.state.as_ref()?;
                state.hold_of(&row.id).map(|hold| hold.name.clone())
            })
            .text("hold_ended", |(one, row)| {
                let state = one.entry.review.state.as_ref()?;
                let ended = state.hold_of(&row.id)?.ended.as_ref()?;
                Some(ended.ending.outcome.key().to_owned())
            })
            .text("note", decided(|made, _| made.note.clone()))
            .text("decided_by", decided(|_, mark| mark.by.clone()))
            .text("decided_at", decided(|_, mark| mark.at.to_string()))
            .done()
    }

    /// The whole summary for a program. The keys are described in `docs/file-formats.md`.
    pub fn json(&self, made_at: &str) -> Value {
        let Self { range, counted, holes, today, unnamed, no_record, totals, series } = self;
        let series = series.iter().map(|one| {
            json!({
                "followed": one.followed.key(),
                "unit": one.unit,
                "symbol": one.symbol,
                "points": one.points,
                "drift": one.drift,
                "used_up": one.drift.and_then(|drift| drift.used_up()),
                // In a file a minus is that of every program.
                "sentence": one.sentence().replace('\u{2212}', "-"),
            })
        });
        let signatures = counted.iter().flat_map(|one| {
            let of = |signed| json!({"record": one.entry.name(), "signature": signature(signed)});
            one.entry.review.signatures().iter().map(of)
        });
        let holes = holes.iter().map(|one| {
            json!({
                "record": one.entry.name(),
                "unit": one.entry.unit(),
                "hole": one.hole,
                "closed": hole_closed(one.entry),
            })
        });
        let production_days = self.production_days();
        let production_days = production_days.iter().map(|day| {
            let records: Vec<Value> = day
                .records
                .iter()
                .map(|entry| json!({"record": entry.name(), "before": entry.before}))
                .collect();
            json!({"date": day.date, "unit": day.unit, "records": records})
        });
        let entered = |text: &String| disposition_name(text).to_owned();
        json!({
            "schema": 2,
            "program": concat!("holdtrace ", env!("CARGO_PKG_VERSION")),
            "made_at": made_at,
            "caution": case::CAUTION,
            "range": {
                "from": range.from,
                "to": range.to,
                "unit": range.unit,
                "product": range.product,
                "lot": range.lot,
                "words": self.words(),
            },
            "records_kept_from_an_earlier_reading": self.kept(),
            "records_without_any_such_name": unnamed,
            "no_record": no_record
                .iter()
                .map(|(unit, date)| json!({"unit": unit, "date": date}))
                .collect::<Vec<_>>(),
            "production_days": production_days.collect::<Vec<_>>(),
            "holes_between_records": holes.collect::<Vec<_>>(),
            "deadlines": self.deadlines(),
            "totals": totals,
            "disposition_names": totals
                .by_disposition
                .keys()
                .map(|key| (key.clone(), entered(key)))
                .collect::<BTreeMap<_, _>>(),
            "holds": self.held().table(*today).json(),
            "days": self.days().json(),
            "exceptions": self.exceptions().json(),
            "signatures": signatures.collect::<Vec<_>>(),
            "trends": series.collect::<Vec<_>>(),
        })
    }

    /// How many records were not read again, as their files had not changed since.
    pub fn kept(&self) -> usize {
        self.counted.iter().filter(|one| one.entry.kept).count()
    }
}

/// The hole between a record and the one before it, exposed or not.
fn hole_before<'a>(one: &Counted<'a>) -> Option<&'a HoleBefore> {
    one.entry.before.as_ref().and_then(Before::hole)
}

/// Words for one cell; `None` for none.
fn words(words: &[String]) -> Option<String> {
    Some(words.join(" + ")).filter(|text| !text.is_empty())
}

/// A part of the corrective action; blank where it was not asked for.
fn corrected(made: &Settlement, part: fn(&Correction) -> &String) -> String {
    made.correction.as_ref().map(|one| part(one).clone()).unwrap_or_default()
}

/// The dates without a record of each pasteurizer: from the range's begin, or else its first
/// record, to the range's end, or else its last.
fn no_record(entries: &[Entry], range: &Range) -> Vec<(String, NaiveDate)> {
    let mut dates: BTreeMap<&str, BTreeSet<NaiveDate>> = BTreeMap::new();
    for entry in entries.iter().filter(|entry| range.holds(entry)) {
        if let (Some(date), unit) = (entry.date(), entry.unit())
            && !unit.is_empty()
        {
            dates.entry(unit).or_default().insert(date);
        }
    }
    let mut missing = Vec::new();
    for (unit, dates) in dates {
        let (Some(first), Some(last)) = (dates.first(), dates.last()) else { continue };
        let first = range.from.unwrap_or(*first);
        let last = range.to.unwrap_or(*last);
        let all = first.iter_days().take_while(|date| *date <= last);
        let lacking = all.filter(|date| !dates.contains(date));
        missing.extend(lacking.map(|date| (unit.to_owned(), date)));
    }
    missing
}
