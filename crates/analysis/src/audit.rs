//! One audit: the sections of the method put together.

use crate::accounting::{Accounting, account};
use crate::amounts::{Amounts, amounts};
use crate::between_cleanings::{BetweenCleanings, between_cleanings};
use crate::cleaning::{self, Cleaning};
use crate::cleaning_cycles::{CleaningCycle, cleaning_cycles};
use crate::completeness::{CompletenessItem, completeness};
use crate::context::{Context, unplaced_until};
use crate::diverts::{Divert, diverts};
use crate::doubts;
use crate::entries::{self, CheckedEntry};
use crate::episodes::{Episode, group};
use crate::exception::{Exception, Volume};
use crate::hold::{self, Hold};
use crate::holes::{self, Hole};
use crate::instruments::{Instruments, instruments};
use crate::lethality::{self, Lethality};
use crate::limits::{LimitSpan, differential_limit, temperature_spans};
use crate::observations::{self, Look};
use crate::product_account::{LotAccount, ProductRun, lots, product_runs, unnamed_run};
use crate::product_changes::{ProductChange, product_changes};
use crate::reason::DivertReason;
use crate::residence::Residence;
use crate::rules;
use crate::transitions::{Transition, transitions};
use crate::trend::{Trend, trends};
use crate::verdicts::{Run, Verdicts};
use crate::volume::Meter;
use plant::Plant;
use trace::{
    Channel, Decimal, Duration, Instant, Observation, Rank, Ratio, RunRecord, Unit, power_of_ten,
};

/// What the audit found in one run record.
#[derive(Debug, Clone, PartialEq)]
pub struct Audit {
    /// The exceptions, in order of their estimates' starts, then of their rules.
    pub exceptions: Vec<Exception>,
    /// The exceptions grouped by closeness.
    pub episodes: Vec<Episode>,
    /// The cleanings with exceptions, each resolved once.
    pub cleanings: Vec<Cleaning>,
    /// The lots and tanks to hold.
    pub hold: Hold,
    /// What needs a look: of the reading of files and of the audit, in order of kind and time.
    pub observations: Vec<Observation>,
    /// Every passage between diverted and forward flow, in order.
    pub transitions: Vec<Transition>,
    /// Every divert but those of a cleaning, in order.
    pub diverts: Vec<Divert>,
    /// Every cleaning that the record shows, in order.
    pub cleaning_cycles: Vec<CleaningCycle>,
    /// How long product went forward between them, in order.
    pub between_cleanings: Vec<BetweenCleanings>,
    /// What the operator wrote down, held to the record, in order of time.
    pub entries: Vec<CheckedEntry>,
    /// What the meter saw against what the run sheet states.
    pub amounts: Amounts,
    /// Every change of the product, in order.
    pub product_changes: Vec<ProductChange>,
    /// How the record's time divides.
    pub accounting: Accounting,
    /// The residence time at every sample; `None` without a flow meter or a tube.
    pub residence: Option<Residence>,
    /// The parcel in forward flow that received the least heat, for information.
    pub lethality: Option<Lethality>,
    /// What is followed over the run.
    pub trends: Vec<Trend>,
    /// What the record says of the instruments.
    pub instruments: Instruments,
    /// Each run of a product and lot.
    pub product_runs: Vec<ProductRun>,
    /// The whole record as one run, where it names neither product nor lot.
    pub unnamed_run: Option<ProductRun>,
    /// Each lot that an exception touched.
    pub lots: Vec<LotAccount>,
    /// Required entries of a day, and whether it does.
    pub completeness: Vec<CompletenessItem>,
    /// The product that passed while any exception lasted, each litre counted once, whatever the
    /// rules. What passed went into a tank: it is not all that has to be held.
    pub passed: Volume,
    /// The least margins in forward flow that met every rule.
    pub margins: Margins,
    /// Which temperature limit holds where.
    pub temperature_limits: Vec<LimitSpan>,
    /// The floor of the differential, in the unit of the differential channel.
    pub differential_limit: f64,
    /// A step between two samples longer than this is a gap.
    pub gap_limit: Duration,
    /// The samples after which a gap follows, in order.
    pub gaps: Vec<usize>,
    /// The holes, in order.
    pub holes: Vec<Hole>,
    /// Stretches of samples, first and last, whose flow can't be reckoned with, in order; none without
    /// a flow meter.
    pub unusable_flow: Vec<(usize, usize)>,
}

impl Audit {
    /// Whether there is no exception and nothing to close.
    pub fn is_clean(&self) -> bool {
        self.exceptions.is_empty() && self.to_close().next().is_none()
    }

    /// The observations that are closed one by one.
    pub fn to_close(&self) -> impl Iterator<Item = &Observation> {
        self.observations.iter().filter(|one| one.kind.rank() == Rank::Close)
    }

    /// The place of the observation of a divert without a cause; none is told alone behind a hundred.
    pub fn observation_of(&self, divert: &Divert) -> Option<usize> {
        if divert.reason != DivertReason::NotInRecord {
            return None;
        }
        let is_of = |one: &Observation| {
            one.kind.key() == observations::DIVERT_WITHOUT_CAUSE
                && one.interval == Some(divert.observed)
        };
        self.observations.iter().position(is_of)
    }
}

/// How close forward flow that met every rule came to the limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margins {
    /// Of the holding temperature; `None` without such forward flow.
    pub temperature: Option<Margin>,
    /// Of the differential pressure; `None` without such forward flow.
    pub differential: Option<Margin>,
}

/// The sample closest to its limit, the first of equals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margin {
    /// The reading.
    pub value: Decimal,
    /// The limit at that sample.
    pub limit: f64,
    /// Reading minus limit, at least 0.
    pub margin: f64,
    /// The symbol of the unit of all three.
    pub unit: &'static str,
    /// When.
    pub at: Instant,
}

/// Audits a record against a plant's limits (method, sections 2 to 9).
///
/// `read` are the observations made while the files were read; they become part of the audit.
pub fn audit(record: &RunRecord, plant: &Plant, read: Vec<Observation>) -> Audit {
    let spans = temperature_spans(record, plant);
    let floor = differential_limit(record, plant);
    let gap_limit = plant.limits.gap_limit(record.sampling_interval());
    let gaps = holes::gaps(record, gap_limit);
    let holes = holes::holes(record, plant, &gaps, gap_limit, &spans, floor);
    let judges_time = record.flow_rate().is_some() && plant.tube.is_some();
    let mut verdicts = Verdicts::new(record, &gaps);
    doubts::mark(&mut verdicts, record, plant, &spans, judges_time);
    let residence = rules::judge(&mut verdicts, record, plant, &spans, floor);

    let low_flow = doubts::low_flow_threshold(record, plant, judges_time);
    let words = record.mode().map_or(&[][..], trace::TextChannel::words);
    let context = Context {
        record,
        plant,
        verdicts: &verdicts,
        spans: &spans,
        floor,
        residence: residence.as_ref(),
        holes: &holes,
        low_flow,
        modes: words.iter().map(|word| plant.columns.mode_words.mode(word)).collect(),
        unplaced_until: unplaced_until(record),
    };
    let mut found = rules::find(&context);
    let episodes = group(&mut found, plant.limits.merge_time);
    let stretches = cleaning::stretches(&context);
    let cleanings = cleaning::bundle(&context, &stretches, &mut found);

    // What needs one another stays together; the two halves share nothing that changes.
    let (here, aside) = std::thread::scope(|scope| {
        let aside = scope.spawn(|| figures(&context, &found));
        let here = events(&context, &found, &stretches, read);
        match aside.join() {
            Ok(aside) => (here, aside),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    });
    let Events {
        transitions, diverts, cleaning_cycles, between_cleanings, entries, amounts, ..
    } = here;
    let completeness = completeness(&context, &transitions, (&entries, &aside.product_runs));
    Audit {
        hold: hold::hold(&found),
        exceptions: found,
        episodes,
        cleanings,
        observations: here.observations,
        transitions,
        diverts,
        cleaning_cycles,
        between_cleanings,
        entries,
        amounts,
        product_changes: aside.product_changes,
        accounting: aside.accounting,
        residence,
        lethality: aside.lethality,
        trends: aside.trends,
        instruments: here.instruments,
        product_runs: aside.product_runs,
        unnamed_run: aside.unnamed_run,
        lots: aside.lots,
        completeness,
        passed: aside.passed,
        margins: aside.margins,
        temperature_limits: spans,
        differential_limit: floor.exact.to_f64(),
        gap_limit,
        gaps,
        holes,
        unusable_flow: verdicts.unusable_flow(),
    }
}

/// What happened beside the exceptions, and what was observed of it.
struct Events {
    transitions: Vec<Transition>,
    instruments: Instruments,
    diverts: Vec<Divert>,
    cleaning_cycles: Vec<CleaningCycle>,
    between_cleanings: Vec<BetweenCleanings>,
    entries: Vec<CheckedEntry>,
    amounts: Amounts,
    observations: Vec<Observation>,
}

fn events(
    context: &Context<'_>,
    found: &[Exception],
    stretches: &[Run],
    read: Vec<Observation>,
) -> Events {
    let transitions = transitions(context);
    let instruments = instruments(context, &transitions, found);
    let diverts = diverts(context, &transitions, &instruments);
    let cleaning_cycles = cleaning_cycles(context, stretches);
    let between_cleanings = between_cleanings(context, &cleaning_cycles);
    let entries = entries::checked(context, &transitions);
    let amounts = amounts(context);
    let look = Look {
        context,
        exceptions: found,
        transitions: &transitions,
        diverts: &diverts,
        entries: &entries,
        zero_checks: &instruments.zero_checks,
        cleaning: stretches,
        cycles: &cleaning_cycles,
        between: &between_cleanings,
        amounts: &amounts,
    };
    let mut observations = read;
    observations.extend(observations::find(&look));
    observations.sort_by_cached_key(|one| {
        let at = one.interval.map(|interval| (interval.start(), interval.end()));
        (one.kind, at, one.position.clone())
    });
    Events {
        transitions,
        instruments,
        diverts,
        cleaning_cycles,
        between_cleanings,
        entries,
        amounts,
        observations,
    }
}

/// How time and volume divide, and the figures of the whole record.
struct Figures {
    accounting: Accounting,
    passed: Volume,
    margins: Margins,
    lethality: Option<Lethality>,
    trends: Vec<Trend>,
    product_runs: Vec<ProductRun>,
    unnamed_run: Option<ProductRun>,
    product_changes: Vec<ProductChange>,
    lots: Vec<LotAccount>,
}

fn figures(context: &Context<'_>, found: &[Exception]) -> Figures {
    let Context { record, plant, verdicts, .. } = context;
    let mut meter = Meter::new(record, plant, verdicts);
    let passed = meter.passed(found.iter());
    // Never beside an exception: only of forward flow that met every rule.
    let legal = (0..record.samples())
        .filter(|&sample| verdicts.is_forward(sample) && verdicts.is_legal(sample));
    Figures {
        accounting: account(record, context.holes, found),
        passed,
        margins: margins(context),
        lethality: lethality::least(context, legal),
        trends: trends(context),
        product_runs: product_runs(context, found),
        unnamed_run: unnamed_run(context, found),
        product_changes: product_changes(context),
        lots: lots(&mut meter, found),
    }
}

fn margins(context: &Context<'_>) -> Margins {
    let record = context.record;
    let verdicts = context.verdicts;
    let compliant = |&sample: &usize| verdicts.is_forward(sample) && verdicts.is_legal(sample);
    let temperature = record.holding_temperature();
    let mut closest: Option<Margin> = None;
    for span in context.spans {
        // Within a span the least reading is the least margin.
        let candidate = (span.first..=span.last)
            .filter(compliant)
            .min_by_key(|&sample| temperature.mantissas()[sample])
            .and_then(|sample| margin(record, temperature, sample, span.exact));
        if let Some(candidate) = candidate
            && closest.is_none_or(|held| candidate.margin < held.margin)
        {
            closest = Some(candidate);
        }
    }
    let differential = record.differential();
    let tightest = (0..record.samples())
        .filter(compliant)
        .min_by_key(|&sample| differential.mantissas()[sample])
        .and_then(|sample| margin(record, differential, sample, context.floor.exact));
    Margins { temperature: closest, differential: tightest }
}

fn margin<U: Unit>(
    record: &RunRecord,
    channel: &Channel<U>,
    sample: usize,
    limit: Ratio,
) -> Option<Margin> {
    let value = channel.reading(sample).valid()?;
    // Subtracted as integers: 161.1 − 161 is 0.1, not 0.0999….
    let power = i128::from(power_of_ten(value.scale()));
    let over = i128::from(value.mantissa()) * limit.denominator() - limit.numerator() * power;
    Some(Margin {
        value,
        limit: limit.to_f64(),
        margin: Ratio::new(over, limit.denominator() * power).to_f64(),
        unit: channel.unit().symbol(),
        at: record.instants()[sample],
    })
}

#[cfg(test)]
mod tests {
    use crate::specimen::{at, day, observed, only, span, told};
    use crate::{Basis, Cause, Class, Rule};
    use trace::Decimal;

    #[test]
    fn a_dip_in_forward_flow_has_three_intervals() {
        let audit = day("F*6").holding("163 161.4 160.9 160.6 161.0 163").audit();
        let found = only(&audit);
        assert_eq!((found.rule, found.samples), (Rule::TEMPERATURE, (2, 3)));
        assert_eq!(found.observed, span(2000, 3000));
        assert_eq!(found.outer, span(1000, 4000));
        // 161.4 → 160.9 meets 161 after 0.8 s; 160.6 → 161.0 meets it at the sample.
        assert_eq!(found.estimate, span(1800, 4000));
        let worst = found.worst.as_ref().map(|worst| (worst.value, worst.limit, worst.at));
        assert_eq!(worst, Some((Decimal::new(1606, 1), 161.0, at(3000))));
        // 0.2 s × 0.1/2 + (0.1 + 0.4)/2 + 0.4/2 = 0.46 °F·s.
        let shortfall = found.shortfall.map(|shortfall| shortfall.value);
        assert!(shortfall.is_some_and(|value| (value - 0.46).abs() < 1e-9), "{shortfall:?}");
        assert_eq!(found.volume.basis, Basis::Unknown);
        assert_eq!(audit.accounting.time(Class::Exception(Rule::TEMPERATURE)).milliseconds(), 2200);
        assert_eq!(audit.accounting.total().milliseconds(), 5000);
        assert_eq!(audit.margins.temperature.map(|margin| margin.margin), Some(0.0));
    }

    #[test]
    fn two_rules_at_once_are_counted_once() {
        let audit = day("F*4").holding("163 160 160 163").differential("3 1 1 3").audit();
        assert_eq!(audit.exceptions.len(), 2);
        assert_eq!(audit.episodes.len(), 1);
        assert_eq!(audit.accounting.total().milliseconds(), 3000);
        let both = audit.accounting.time(Class::ForwardMultiple).milliseconds();
        // 163 → 160 meets 161 at 667 ms, 3 → 1 meets 2 at 500 ms; back likewise.
        assert_eq!(both, 2333 - 667);
    }

    #[test]
    fn a_run_and_a_gap_at_one_instant_keep_two_ids() {
        let audit = day("F*5").step(2, 7000).holding("163 163 BAD 163 163").audit();
        let [first, second] = audit.exceptions.as_slice() else { panic!("{audit:#?}") };
        assert_eq!(first.observed.start(), second.observed.start());
        assert_ne!(first.id, second.id);
        assert_eq!(
            [&first.causes[..], &second.causes[..]],
            [&[Cause::InvalidReading], &[Cause::Gap]]
        );
    }

    #[test]
    fn a_quiet_day_has_no_exception_and_nothing_to_close() {
        let audit = day("D*10 F*100 D*10").holding("150~*10 165~*100 150").audit();
        assert_eq!(told(&audit), [""; 0]);
        assert!(audit.is_clean(), "{:?}", audit.observations);
    }

    #[test]
    fn an_observation_to_close_is_not_clean_and_one_to_note_is() {
        // Forward from the first sample on is to note; a leak is to close.
        assert!(day("F*10").audit().is_clean());
        let audit = day("F*10").leak("off*5 on off").audit();
        assert_eq!(observed(&audit, "leak_detected"), ["5000..5000 n=1 position=\"forward\""]);
        assert!(audit.exceptions.is_empty() && !audit.is_clean());
    }
}
