//! What every search shares, and what every exception is made of beside what its rule decides
//! (method, section 4).

use crate::exception::{Cause, Exception, Shortfall, Worst};
use crate::holes::{Hole, UnplacedCount};
use crate::limits::{DifferentialLimit, LimitSpan};
use crate::residence::Residence;
use crate::rule::Rule;
use crate::verdicts::{Run, Verdicts};
use crate::volume::volume;
use plant::{Mode, Plant};
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use trace::{
    BOTH, ChannelView, Instant, Interval, RunRecord, SheetRun, TextChannel, Unplaced, UnplacedRow,
    ValveState, hexadecimal,
};

/// What the searches share.
pub(crate) struct Context<'a> {
    pub record: &'a RunRecord,
    pub plant: &'a Plant,
    pub verdicts: &'a Verdicts<'a>,
    pub spans: &'a [LimitSpan],
    pub floor: DifferentialLimit,
    pub residence: Option<&'a Residence>,
    pub holes: &'a [Hole],
    /// A valid flow with a lesser mantissa is too low to be a flow.
    pub low_flow: Option<i64>,
    /// For each word of the mode channel what it stands for.
    pub modes: Vec<Mode>,
    /// For each group of rows without a place the latest end of those up to it: groups of several files
    /// may overlap, so their starts alone do not tell where to stop looking.
    pub unplaced_until: Vec<Instant>,
}

/// See [`Context::unplaced_until`].
pub(crate) fn unplaced_until(record: &RunRecord) -> Vec<Instant> {
    let ends = record.unplaced().iter().map(|group| group.interval.end());
    ends.scan(None, |latest: &mut Option<Instant>, end| {
        *latest = Some(latest.map_or(end, |latest| latest.max(end)));
        *latest
    })
    .collect()
}

/// The parts of an exception that its rule decides.
pub(crate) struct Found {
    pub rule: Rule,
    pub causes: Vec<Cause>,
    pub samples: Run,
    pub observed: Interval,
    pub outer: Interval,
    pub estimate: Interval,
    pub worst: Option<Worst>,
    pub shortfall: Option<Shortfall>,
    pub within_response: bool,
    pub unplaced: UnplacedCount,
}

impl Context<'_> {
    /// The exception with its figures that do not depend on the rule.
    pub fn complete(&self, found: Found) -> Exception {
        let Found {
            rule,
            causes,
            samples,
            observed,
            outer,
            estimate,
            worst,
            shortfall,
            within_response,
            unplaced,
        } = found;
        let record = self.record;
        let mode = self.mode_at(samples.0);
        // Milk of the outer interval may be short, and what passed before the first sample of the run
        // is of the sample before. No sample shows a run that lies wholly in a hole; the sheet may.
        // A double span may begin between two samples.
        let before =
            outer.start() < observed.start() || outer.start() < record.instants()[samples.0];
        let first = if before { samples.0.saturating_sub(1) } else { samples.0 };
        let runs: Vec<&SheetRun> = self.runs_touching(outer, observed).collect();
        let span = (first, samples.1);
        let mut products = named(record.product(), span, &runs, |run| &run.product);
        let mut lots = named(record.lot(), span, &runs, |run| &run.lot);
        let tanks = named(None, span, &runs, |run| &run.tank);
        // Rows without a place may be of the exception's time, and say what no sample says.
        for row in self.unplaced_rows(outer) {
            products.add(&row.product);
            lots.add(&row.lot);
        }
        // Of two rows of one instant each lot is held.
        let mut each = Distinct::default();
        lots.words.iter().flat_map(|lot| lot.split(BOTH)).for_each(|lot| each.add(lot));
        let (products, lots, tanks) = (products.words, each.words, tanks.words);
        Exception {
            id: id(record.unit(), rule, &causes, observed.start()),
            rule,
            causes,
            samples,
            positions: self.positions(samples),
            unplaced,
            observed,
            outer,
            estimate,
            worst,
            shortfall,
            volume: volume(record, self.plant, self.verdicts, estimate, outer),
            products,
            lots,
            tanks,
            shift: self.plant.shift_at(observed.start()).map(|shift| shift.name.clone()),
            mode,
            within_response,
            outside_production: false,
            cleaning: None,
            episode: 0,
        }
    }

    /// The rows without a place that may be of the time of an interval, in order.
    fn unplaced_rows(&self, interval: Interval) -> impl Iterator<Item = &UnplacedRow> {
        let groups = self.record.unplaced();
        let last = groups.partition_point(|group| group.interval.start() <= interval.end());
        let first = self.unplaced_until.partition_point(|&end| end < interval.start());
        let groups = groups.get(first..last).unwrap_or_default().iter();
        let touches = move |group: &&Unplaced| interval.start() <= group.interval.end();
        groups.filter(touches).flat_map(|group| &group.rows)
    }

    /// The runs of consecutive judged samples for which `holds` that make an exception: they hold a
    /// forward sample, or the device lingered between its positions for longer than its response may
    /// take.
    pub fn judged_runs(&self, holds: impl Fn(usize) -> bool) -> Vec<Run> {
        let verdicts = self.verdicts;
        let mut runs = verdicts.runs(|sample| verdicts.is_judged(sample) && holds(sample));
        runs.retain(|&run| self.is_long_enough(run));
        runs
    }

    /// See [`Self::judged_runs`].
    pub fn is_long_enough(&self, run: Run) -> bool {
        (run.0..=run.1).any(|sample| self.verdicts.is_forward(sample))
            || self.verdicts.observed(run).duration() > self.plant.limits.response_allowance
    }

    fn positions(&self, (first, last): Run) -> Vec<ValveState> {
        let mut positions = Vec::new();
        for &valve in &self.record.valve()[first..=last] {
            if !positions.contains(&valve) {
                positions.push(valve);
                if positions.len() == ValveState::ALL.len() {
                    break;
                }
            }
        }
        positions
    }

    /// All runs of the sheet that share time with the outer interval, or an instant with the observed
    /// one, in order of their starts. A run ends before its end.
    fn runs_touching(
        &self,
        outer: Interval,
        observed: Interval,
    ) -> impl Iterator<Item = &SheetRun> {
        let sheet = self.record.run_sheet().into_iter();
        sheet.flat_map(move |sheet| sheet.runs_touching(outer.hull(observed))).filter(move |run| {
            let run = run.interval;
            run.overlaps(outer) || (run.start() <= observed.end() && observed.start() < run.end())
        })
    }

    /// Whether the timing pump stands, or a valid flow is below the low-flow limit.
    pub fn is_pump_stopped(&self, sample: usize) -> bool {
        let stands = self.record.timing_pump().is_some_and(|pump| pump[sample] == Some(false));
        stands
            || self.low_flow.zip(self.record.flow_rate()).is_some_and(|(threshold, flow)| {
                let mantissa = flow.mantissas()[sample];
                ChannelView::is_valid(mantissa) && mantissa < threshold
            })
    }

    /// Whether the line stands: diverted, and nothing is pumped.
    pub fn is_standing(&self, sample: usize) -> bool {
        !self.verdicts.is_exposed(sample) && self.is_pump_stopped(sample)
    }

    /// What the line was doing at a sample; production where nothing says otherwise.
    pub fn mode_at(&self, sample: usize) -> Mode {
        let code = self.record.mode().and_then(|text| text.codes().get(sample));
        let mode = code.and_then(|&code| self.modes.get(code as usize));
        mode.copied().unwrap_or(Mode::Production)
    }

    /// The limit span that holds at a sample.
    pub fn span(&self, sample: usize) -> &LimitSpan {
        let index = self.spans.partition_point(|span| span.last < sample);
        &self.spans[index.min(self.spans.len() - 1)]
    }
}

/// Words that are not blank, each once, in the order in which they came. A record may name another
/// lot in every row, so whether one is there is looked up and not searched for.
#[derive(Default)]
pub(crate) struct Distinct<'a> {
    pub words: Vec<String>,
    seen: BTreeSet<&'a str>,
}

impl<'a> Distinct<'a> {
    pub fn add(&mut self, word: &'a str) {
        if !word.is_empty() && self.seen.insert(word) {
            self.words.push(word.to_owned());
        }
    }
}

/// The words of a run of samples and of the runs of a sheet, each once: first that of the first sample.
fn named<'a>(
    text: Option<&'a TextChannel>,
    samples: Run,
    runs: &[&'a SheetRun],
    of_run: fn(&SheetRun) -> &str,
) -> Distinct<'a> {
    let mut found = Distinct::default();
    found.add(text.map_or("", |text| text.word(samples.0)));
    for run in runs {
        found.add(of_run(run));
    }
    for word in text.into_iter().flat_map(|text| words(text, samples)) {
        found.add(word);
    }
    found
}

/// The words of a run in order, one for each time that the word changes.
fn words(text: &TextChannel, (first, last): Run) -> impl Iterator<Item = &str> {
    let codes = text.codes().get(first..=last).unwrap_or_default();
    codes
        .chunk_by(|one, other| one == other)
        .filter_map(|alike| text.words().get(*alike.first()? as usize))
        .map(String::as_str)
}

/// The first 48 bits of the SHA-256 of unit, rule and first instant. A hole or a double span begins
/// at the instant of a sample, where another run may begin as well; so it has a word more.
fn id(unit: &str, rule: Rule, causes: &[Cause], first: Instant) -> String {
    let mut digest = Sha256::new();
    digest.update(unit.as_bytes());
    digest.update([0]);
    digest.update(rule.key().as_bytes());
    digest.update([0]);
    digest.update(first.unix_milliseconds().to_string().as_bytes());
    for cause in causes.iter().filter(|cause| cause.is_of_time()) {
        digest.update([0]);
        digest.update(cause.key().as_bytes());
    }
    hexadecimal(&digest.finalize()[..6])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::{at, day, only};

    /// Worked out once with `printf 'unit\0temperature\0%s' 1000 | sha256sum`, so that an id of a
    /// signed record means the same in every version of the program.
    #[test]
    fn an_id_is_the_digest_of_unit_rule_and_first_instant() {
        let audit = day("F*3").holding("165 150 165").audit();
        assert_eq!(only(&audit).id, id("unit", Rule::TEMPERATURE, &[Cause::Short], at(1000)));
        assert_eq!(only(&audit).id, "cc7b62eb73ef");
        let of = |unit: &str, rule, causes: &[Cause], instant| id(unit, rule, causes, at(instant));
        let first = of("unit", Rule::TEMPERATURE, &[Cause::Short], 1000);
        for other in [
            of("other", Rule::TEMPERATURE, &[Cause::Short], 1000),
            of("unit", Rule::DIFFERENTIAL, &[Cause::Short], 1000),
            of("unit", Rule::TEMPERATURE, &[Cause::Short], 1001),
        ] {
            assert_ne!(first, other);
        }
        // Causes of samples are no part of it, a hole's is.
        let unverifiable = |cause| of("unit", Rule::UNVERIFIABLE, &[cause], 1000);
        assert_eq!(unverifiable(Cause::Frozen), unverifiable(Cause::InvalidReading));
        assert_ne!(unverifiable(Cause::Gap), unverifiable(Cause::InvalidReading));
        assert_ne!(unverifiable(Cause::Gap), unverifiable(Cause::Clock));
    }

    #[test]
    fn an_exception_has_the_shift_and_the_mode_in_which_it_began() {
        let hour = |hour: i64| plant::Zone::UTC.time_of_day(at(hour * 3_600_000));
        let (start, end) = (hour(22), hour(6));
        let audit = day("F*4")
            .holding("165 150 150 165")
            .mode("water*2 production")
            .set(|plant| {
                plant.shifts = vec![plant::Shift { name: "night".to_owned(), start, end }];
            })
            .audit();
        let found = only(&audit);
        assert_eq!((found.shift.as_deref(), found.mode), (Some("night"), Mode::Water));
        assert_eq!(found.positions, [ValveState::Forward]);
    }
}
