//! Doubts: readings that stand in the record and prove nothing (method, section 4).
//!
//! A reading that another instrument contradicts, that did not move for too long, or that a logger
//! may have repeated turns a legal answer into an unknown one. A short reading stays short. All
//! doubts are looked for in exposed flow: while the device is diverted nothing has to be shown. An
//! invalid reading ends no doubt, so that a record with less in it is never believed more.

use crate::exception::Cause;
use crate::limits::LimitSpan;
use crate::rules::Rule;
use crate::verdicts::{Run, Verdict, Verdicts};
use plant::{Plant, Thermometer};
use trace::{
    Channel, ChannelView, Decimal, Duration, Ratio, Role, RunRecord, TemperatureUnit, ValveState,
    power_of_ten,
};

/// How long the recorder must read lower before the indicating thermometer is doubted (method,
/// section 4; ours).
const RECORDER_AFTER: Duration = Duration::from_seconds(10);

/// How long heating water must be colder than what it heats before the thermometer is doubted
/// (method, section 4; ours).
const WATER_AFTER: Duration = Duration::from_seconds(60);

/// How much colder heating water may read: 1 °F, or 0.5 °C (method, section 4; ours).
const fn water_allowance(unit: TemperatureUnit) -> Decimal {
    match unit {
        TemperatureUnit::Fahrenheit => Decimal::whole(1),
        TemperatureUnit::Celsius => Decimal::new(5, 1),
    }
}

/// The fewest measuring channels of which a repeated row can be told (method, section 4).
const FEWEST_CHANNELS: usize = 3;

/// The channels that the logger recorded: a difference that was worked out is none.
pub(crate) fn recorded(record: &RunRecord) -> Vec<(Role, ChannelView<'_>)> {
    let mut channels = record.channels();
    if record.pressures().is_some() {
        channels.retain(|(role, _)| *role != Role::DifferentialPressure);
    }
    channels
}

/// The recorded channels that the rules need, and which rule needs each.
fn needed(record: &RunRecord, judges_time: bool) -> Vec<(Role, Rule)> {
    let judged = Rule::ALL.iter().filter(|&&rule| judges_time || rule != Rule::HOLDING_TIME);
    let roles = judged.flat_map(|rule| {
        let recorded = rule.definition().reads.iter().flat_map(|role| match role {
            Role::DifferentialPressure if record.pressures().is_some() => {
                &[Role::RawPressure, Role::PasteurizedPressure][..]
            }
            role => std::slice::from_ref(role),
        });
        recorded.map(move |&role| (role, *rule))
    });
    roles.collect()
}

/// Whether a rule needs a recorded channel; two may need the same.
pub(crate) fn is_needed(record: &RunRecord, judges_time: bool, role: Role) -> bool {
    needed(record, judges_time).iter().any(|&(needed, _)| needed == role)
}

/// What a doubt of a reading means for the rule that needs it. Where the flow proves nothing the
/// residence time is not known for as long as the parcel was in the tube.
fn doubt(rule: Rule, cause: Cause) -> Verdict {
    if rule == Rule::HOLDING_TIME { Verdict::FLOW_UNUSABLE } else { Verdict::unknown(rule, cause) }
}

/// Finds all doubts and writes them into the verdicts.
pub(crate) fn mark(
    verdicts: &mut Verdicts<'_>,
    record: &RunRecord,
    plant: &Plant,
    spans: &[LimitSpan],
    judges_time: bool,
) {
    contradicted_by_recorder(verdicts, record, plant, spans);
    not_shown_by_recorder(verdicts, record, plant, spans);
    contradicted_by_water(verdicts, record);
    let exposed = verdicts.runs(|sample| verdicts.is_exposed(sample));
    frozen(verdicts, &exposed, record, plant, judges_time);
    repeated(verdicts, &exposed, record, plant);
    low_flow(verdicts, record, plant, judges_time);
}

/// What another thermometer says of the holding temperature at a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Word {
    /// It does not contradict.
    Agrees,
    /// It contradicts.
    Against,
    /// The holding temperature is invalid, and what the other one reads would contradict a legal one.
    Alone,
    /// The other one is invalid: neither for nor against.
    Silent,
}

/// Marks the stretches of consecutive exposed samples that last longer than `after`, in which
/// nothing agrees and something contradicts. A blank must not bring back trust: a stretch goes on
/// where the other thermometer is silent, and where the holding temperature is invalid it counts as
/// if it were there.
fn mark_contradicted(
    verdicts: &mut Verdicts<'_>,
    holding: &[i64],
    after: Duration,
    word: impl Fn(usize) -> Word,
) {
    let counts = |sample: &usize| matches!(word(*sample), Word::Against | Word::Alone);
    for run in verdicts.runs(|one| verdicts.is_exposed(one) && word(one) != Word::Agrees) {
        let (first, last) = ((run.0..=run.1).find(counts), (run.0..=run.1).rev().find(counts));
        let Some(run) = first.zip(last) else { continue };
        let against = (run.0..=run.1).any(|sample| word(sample) == Word::Against);
        if against && verdicts.observed(run).duration() > after {
            let contradicted = doubt(Rule::TEMPERATURE, Cause::Contradicted);
            mark_valid(verdicts, run, contradicted, holding);
        }
    }
}

/// Marks the samples of a run at which the doubtful reading is valid: one that is invalid is just
/// that.
fn mark_valid(verdicts: &mut Verdicts<'_>, run: Run, doubt: Verdict, mantissas: &[i64]) {
    for (sample, &mantissa) in mantissas.iter().enumerate().take(run.1 + 1).skip(run.0) {
        if ChannelView::is_valid(mantissa) {
            verdicts.mark(sample..=sample, doubt);
        }
    }
}

fn contradicted_by_recorder(
    verdicts: &mut Verdicts<'_>,
    record: &RunRecord,
    plant: &Plant,
    spans: &[LimitSpan],
) {
    let Some(recorder) = record.recorder_temperature() else { return };
    let holding = record.holding_temperature();
    let allowed = plant.limits.recorder_difference.figure(holding.unit());
    let lower = Lower::new(recorder, holding, allowed);
    let thresholds: Vec<(usize, i64)> = spans
        .iter()
        .filter_map(|span| Some((span.last, span.of_recorder?.floor_mantissa(recorder.scale()))))
        .collect();
    let (readings, mantissas) = (recorder.mantissas(), holding.mantissas());
    // Most records never come near: the plain comparison first, the span only where it matters.
    let highest = thresholds.iter().map(|&(_, threshold)| threshold).max().unwrap_or(i64::MIN);
    mark_contradicted(verdicts, mantissas, RECORDER_AFTER, |sample| {
        if readings[sample] >= highest {
            return Word::Agrees;
        }
        if !ChannelView::is_valid(readings[sample]) {
            return Word::Silent;
        }
        let short = thresholds
            .get(thresholds.partition_point(|&(last, _)| last < sample))
            .is_some_and(|&(_, threshold)| readings[sample] < threshold);
        match lower.difference(sample) {
            None if short => Word::Alone,
            Some(difference) if short && lower.exceeds(difference) => Word::Against,
            _ => Word::Agrees,
        }
    });
}

/// Where the recorder has to show the limit as well, what it does not show proves nothing, not for a moment:
/// a reading below the limit, one that is invalid, or no recorder at all.
fn not_shown_by_recorder(
    verdicts: &mut Verdicts<'_>,
    record: &RunRecord,
    plant: &Plant,
    spans: &[LimitSpan],
) {
    // The one thermometer there is has been judged.
    if plant.thermometer == Thermometer::Recorder {
        return;
    }
    let holding = record.holding_temperature().mantissas();
    let recorder = record.recorder_temperature();
    for span in spans.iter().filter(|span| span.judged_by_recorder) {
        let threshold = recorder.zip(span.of_recorder).map(|(recorder, limit)| {
            (recorder.mantissas(), limit.floor_mantissa(recorder.scale()))
        });
        for sample in span.first..=span.last {
            let shows = threshold.is_some_and(|(readings, threshold)| {
                ChannelView::is_valid(readings[sample]) && readings[sample] >= threshold
            });
            if verdicts.is_exposed(sample) && ChannelView::is_valid(holding[sample]) && !shows {
                verdicts.mark(sample..=sample, doubt(Rule::TEMPERATURE, Cause::RecorderShort));
            }
        }
    }
}

fn contradicted_by_water(verdicts: &mut Verdicts<'_>, record: &RunRecord) {
    let Some(ChannelView::Temperature(water)) = record.channel(Role::HeatingWaterTemperature)
    else {
        return;
    };
    let holding = record.holding_temperature();
    let lower = Lower::new(water, holding, water_allowance(holding.unit()).into());
    let readings = water.mantissas();
    mark_contradicted(verdicts, holding.mantissas(), WATER_AFTER, |sample| {
        match lower.difference(sample) {
            Some(difference) if lower.exceeds(difference) => Word::Against,
            Some(_) => Word::Agrees,
            None if ChannelView::is_valid(readings[sample]) => Word::Alone,
            None => Word::Silent,
        }
    });
}

/// Whether one thermometer reads lower than the holding temperature by more than is allowed, with
/// integers: both in fifths of a degree Fahrenheit where their units differ, which hold every
/// decimal of a degree Celsius exactly.
pub(crate) struct Lower<'a> {
    one: (&'a [i64], i128, i128),
    holding: (&'a [i64], i128, i128),
    /// The greatest difference that is allowed, cut to an integer.
    most: i128,
    /// What a degree of the holding temperature counts, and its digits behind the mark.
    degree: i128,
    scale: u8,
    /// Whether the mantissas of both can be subtracted as they are.
    alike: bool,
}

impl<'a> Lower<'a> {
    /// `allowed` is a difference in the unit of `holding`.
    pub fn new(
        one: &'a Channel<TemperatureUnit>,
        holding: &'a Channel<TemperatureUnit>,
        allowed: Ratio,
    ) -> Self {
        let scale = one.scale().max(holding.scale());
        let is_one_unit = one.unit() == holding.unit();
        let counts = |unit: TemperatureUnit| {
            if is_one_unit { (1, 0) } else { unit.in_fifths_of_fahrenheit() }
        };
        let place = |channel: &'a Channel<TemperatureUnit>| {
            let power = i128::from(power_of_ten(scale - channel.scale()));
            let (degree, zero) = counts(channel.unit());
            (channel.mantissas(), degree * power, zero * i128::from(power_of_ten(scale)))
        };
        // What a degree of the holding temperature counts beside the power of ten.
        let (degree, _) = counts(holding.unit());
        let most = (allowed.numerator() * degree * i128::from(power_of_ten(scale)))
            .div_euclid(allowed.denominator());
        Self {
            one: place(one),
            holding: place(holding),
            most,
            degree,
            scale,
            alike: is_one_unit && one.scale() == holding.scale(),
        }
    }

    /// Holding temperature minus the other reading; `None` where either is not valid.
    pub fn difference(&self, sample: usize) -> Option<i128> {
        let (one, other) = (self.one.0[sample], self.holding.0[sample]);
        (ChannelView::is_valid(one) && ChannelView::is_valid(other)).then(|| {
            if self.alike {
                // Mantissas leave room for a difference of two.
                return i128::from(other - one);
            }
            let placed = |mantissa: i64, (_, factor, zero): (&[i64], i128, i128)| {
                i128::from(mantissa) * factor + zero
            };
            placed(other, self.holding) - placed(one, self.one)
        })
    }

    /// A difference in degrees of the holding temperature, digits beyond two more than recorded cut.
    pub fn degrees(&self, difference: i128) -> Decimal {
        let degree = self.degree * i128::from(power_of_ten(self.scale));
        Ratio::new(difference, degree).decimal_not_above(self.scale.saturating_add(2).min(12))
    }

    /// A difference in degrees of the holding temperature, exactly.
    pub fn ratio(&self, difference: i128) -> Ratio {
        Ratio::new(difference, self.degree * i128::from(power_of_ten(self.scale)))
    }

    /// Whether a difference is greater than is allowed.
    pub const fn exceeds(&self, difference: i128) -> bool {
        difference > self.most
    }

    /// Whether the two readings differ either way by more than is allowed.
    pub fn differs(&self, sample: usize) -> bool {
        self.difference(sample).is_some_and(|difference| self.exceeds(difference.abs()))
    }
}

/// The longest stretches of a run in which a channel shows no two different valid readings. An
/// invalid reading shows no movement, so that one between two stretches belongs to both.
fn still(mantissas: &[i64], (begin, end): Run, mut found: impl FnMut(Run)) {
    let (mut first, mut shown, mut shown_last) = (begin, mantissas[begin], begin);
    for (sample, &mantissa) in mantissas.iter().enumerate().take(end + 1).skip(begin + 1) {
        if mantissa == shown {
            shown_last = sample;
        } else if ChannelView::is_valid(mantissa) {
            if ChannelView::is_valid(shown) {
                if first + 1 < sample {
                    found((first, sample - 1));
                }
                first = shown_last + 1;
            }
            (shown, shown_last) = (mantissa, sample);
        }
    }
    found((first, end));
}

/// The part of a stretch that counts, if any: from the sample before the first reading that would be
/// doubtful to the last one. The first sample of the stretch is beyond doubt, and so is whatever
/// shows nothing; a silence before the first or after the last makes no stretch longer.
fn counting((first, last): Run, shows: impl Fn(usize) -> bool) -> Option<Run> {
    let from = (first + 1..=last).find(|&sample| shows(sample))?;
    let to = (from..=last).rev().find(|&sample| shows(sample))?;
    Some((from - 1, to))
}

fn frozen(
    verdicts: &mut Verdicts<'_>,
    exposed: &[Run],
    record: &RunRecord,
    plant: &Plant,
    judges_time: bool,
) {
    for (role, rule) in needed(record, judges_time) {
        let Some(channel) = record.channel(role) else { continue };
        let mantissas = channel.mantissas();
        let after = plant.limits.frozen_after(channel.scale() > 0);
        let is_long = |run: Run| verdicts.observed(run).duration() > after;
        let mut long = Vec::new();
        for &run in exposed {
            still(mantissas, run, |run| {
                if is_long(run) {
                    let shows = |sample: usize| ChannelView::is_valid(mantissas[sample]);
                    long.extend(counting(run, shows).filter(|&run| is_long(run)));
                }
            });
        }
        for (first, last) in long {
            mark_valid(verdicts, (first + 1, last), doubt(rule, Cause::Frozen), mantissas);
        }
    }
}

/// A logger that repeats its last row: all measuring channels stand still at once.
fn repeated(verdicts: &mut Verdicts<'_>, exposed: &[Run], record: &RunRecord, plant: &Plant) {
    let channels: Vec<&[i64]> =
        recorded(record).into_iter().map(|(_, channel)| channel.mantissas()).collect();
    if channels.len() < FEWEST_CHANNELS {
        return;
    }
    let is_long = |run: Run| verdicts.observed(run).duration() > plant.limits.repeated_after;
    // In most records the first channel moves, and nothing is left for the others.
    let mut held = exposed.to_vec();
    for mantissas in &channels {
        let mut long: Vec<Run> = Vec::new();
        for run in held {
            still(mantissas, run, |run| {
                let within_last = long.last().is_some_and(|last| run.1 <= last.1);
                if !within_last && is_long(run) {
                    long.push(run);
                }
            });
        }
        held = long;
    }
    let valid = |mantissas: &[i64], sample: usize| ChannelView::is_valid(mantissas[sample]);
    let any = |sample: usize| channels.iter().any(|mantissas| valid(mantissas, sample));
    let mut rows: Vec<Run> = held.into_iter().filter_map(|run| counting(run, any)).collect();
    rows.retain(|&(first, last)| {
        let shows = |mantissas: &&&[i64]| (first + 1..=last).any(|sample| valid(mantissas, sample));
        is_long((first, last)) && channels.iter().filter(shows).count() >= FEWEST_CHANNELS
    });
    let judged = Rule::ALL.iter().filter(|&&rule| rule != Rule::HOLDING_TIME);
    let read =
        judged.flat_map(|rule| rule.definition().reads.iter().map(move |&role| (*rule, role)));
    let read: Vec<_> =
        read.filter_map(|(rule, role)| Some((rule, record.channel(role)?.mantissas()))).collect();
    for (first, last) in rows {
        for &(rule, mantissas) in &read {
            mark_valid(verdicts, (first + 1, last), doubt(rule, Cause::Repeated), mantissas);
        }
        verdicts.mark(first + 1..=last, Verdict::FLOW_UNUSABLE);
    }
}

/// A valid flow with a lesser mantissa proves nothing. Where the time is judged by a tube that is
/// known by its measures only, and no nominal flow is known, anything above zero is a flow (ours).
pub(crate) fn low_flow_threshold(
    record: &RunRecord,
    plant: &Plant,
    judges_time: bool,
) -> Option<i64> {
    let flow = record.flow_rate()?;
    match plant.low_flow_limit(flow.unit()) {
        Some(limit) => Some(limit.floor_mantissa(flow.scale())),
        None => judges_time.then_some(1),
    }
}

/// A meter that has lost its signal must not prove holding, nor vouch for a volume.
fn low_flow(verdicts: &mut Verdicts<'_>, record: &RunRecord, plant: &Plant, judges_time: bool) {
    let Some(flow) = record.flow_rate() else { return };
    let Some(threshold) = low_flow_threshold(record, plant, judges_time) else { return };
    let valve = record.valve();
    for (sample, &mantissa) in flow.mantissas().iter().enumerate() {
        if mantissa < threshold && valve[sample] != ValveState::Divert {
            verdicts.mark(sample..=sample, Verdict::FLOW_UNUSABLE);
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, told};
    use trace::{Decimal, Duration, FlowUnit, TemperatureUnit};

    /// Eleven samples are ten seconds, twelve are eleven: only the latter are more than ten.
    #[test]
    fn a_recorder_below_the_limit_contradicts_after_ten_seconds() {
        let quiet = day("F*30").holding("164.0~").recorder("164.0*5 158*11 164.0").audit();
        assert_eq!(told(&quiet), [""; 0]);
        let audit = day("F*30").holding("164.0~").recorder("164.0*5 158*12 164.0").audit();
        assert_eq!(told(&audit), ["unverifiable contradicted 5..16"]);
    }

    /// 160.9 is below 161; 161.9 is higher by exactly the allowed degree, 162.0 by more.
    #[test]
    fn the_allowed_difference_is_allowed() {
        for (holding, expected) in
            [("161.9", vec![]), ("162.0", vec!["unverifiable contradicted 0..29"])]
        {
            let audit = day("F*30").holding(holding).recorder("160.9").audit();
            assert_eq!(told(&audit), expected, "{holding}");
        }
    }

    /// Sweetened milk at 166 °F, of which the recorder has to show the limit too; at it is enough. A short
    /// reading stays short, and while diverted nothing has to be shown.
    #[test]
    fn what_the_recorder_has_to_show_and_does_not_is_unknown_at_once() {
        let sweet = |too: bool| {
            day("F*30 D*5")
                .holding("168.0~*20 165.0*2 168.0~")
                .products(&[("sweet", "us-rich-15s")])
                .set(|plant| {
                    let mut sweet = plant.products.default_product().clone();
                    sweet.judged_by_recorder = too;
                    plant.products = plant::Products::new(sweet, Vec::new(), 0);
                })
        };
        let column = "167.5~*5 165.9 167.5~*4 _ 166.0~*9 160.0 166.0~*9 100.0";
        assert_eq!(
            told(&sweet(true).recorder(column).audit()),
            [
                "unverifiable recorder_short 5..5",
                "unverifiable recorder_short 10..10",
                "temperature short 20..21"
            ]
        );
        assert_eq!(told(&sweet(false).recorder(column).audit()), ["temperature short 20..21"]);
        assert_eq!(
            told(&sweet(true).audit()),
            [
                "unverifiable recorder_short 0..19",
                "temperature short 20..21",
                "unverifiable recorder_short 22..29"
            ]
        );
        let own = sweet(true).set(|plant| plant.thermometer = plant::Thermometer::Recorder);
        assert_eq!(told(&own.audit()), ["temperature short 20..21"]);
    }

    /// 161 is the limit itself: a recorder there vouches for legal milk, however far the two are
    /// apart.
    #[test]
    fn a_recorder_at_the_limit_does_not_contradict() {
        assert_eq!(told(&day("F*30").holding("170.0~").recorder("161.0").audit()), [""; 0]);
    }

    /// The limit in the recorder's own unit: 71.9 °C is 161.42 °F, below the printed 72 °C, and
    /// 1.58 °F below 163 °F.
    #[test]
    fn a_recorder_in_another_unit_has_its_own_limit() {
        let of = |recorder: &str| {
            let day = day("F*30").holding("163.0~");
            told(&day.recorder_in(TemperatureUnit::Celsius, recorder).audit())
        };
        assert_eq!(of("71.9"), ["unverifiable contradicted 0..29"]);
        assert_eq!(of("72.0"), [""; 0]);
    }

    #[test]
    fn a_short_reading_stays_short_however_doubtful() {
        let audit = day("F*30").holding("160").recorder("150").audit();
        assert_eq!(told(&audit), ["temperature short 0..29"]);
    }

    #[test]
    fn nothing_is_contradicted_while_diverted() {
        assert_eq!(told(&day("D*30").recorder("150").audit()), [""; 0]);
    }

    /// Six forward samples and six of unknown position are one span of eleven seconds.
    #[test]
    fn an_unknown_position_is_exposed_too() {
        let audit = day("F*6 U*6 D*6").recorder("158").audit();
        assert_eq!(
            told(&audit),
            ["unverifiable contradicted 0..5", "unverifiable position_unknown 6..11"]
        );
    }

    #[test]
    fn a_gap_parts_what_lasts() {
        // Six seconds, a gap of four, six seconds.
        let audit = day("F*14").step(6, 4000).recorder("158").audit();
        assert_eq!(told(&audit), ["unverifiable gap 6..7"]);
    }

    #[test]
    fn for_another_product_the_recorder_has_another_limit() {
        let audit = day("F*40")
            .products(&[("milk", "us-milk-15s"), ("cream", "us-rich-15s")])
            .product("milk*20 cream")
            .holding("168.0~")
            .recorder("165")
            .audit();
        assert_eq!(told(&audit), ["unverifiable contradicted 20..39"]);
    }

    /// Water that is colder than what it heats: 61 samples are a minute, 62 are more.
    #[test]
    fn heating_water_that_is_too_cold_contradicts_after_a_minute() {
        for (water, expected) in [
            ("163.9*61 170", vec![]),
            ("163.9*62 170", vec!["unverifiable contradicted 0..61"]),
            // Exactly a degree colder is allowed.
            ("164.0*80", vec![]),
        ] {
            let audit = day("F*80").holding("165.0").water(water).audit();
            assert_eq!(told(&audit), expected, "{water}");
        }
        // In °C half a degree.
        for (water, expected) in
            [("73.5", vec![]), ("73.4", vec!["unverifiable contradicted 0..79"])]
        {
            let audit =
                day("F*80").metric().holding("74.0").differential("30.0~").water(water).audit();
            assert_eq!(told(&audit), expected, "{water}");
        }
    }

    /// Twelve samples from 5 to 16, one of them without a recorder; and one, in the midst or the
    /// first, without a holding temperature.
    #[test]
    fn an_invalid_reading_does_not_end_a_contradiction() {
        let of = |holding: &str, recorder: &str| {
            told(&day("F*30").holding(holding).recorder(recorder).audit())
        };
        let low = "164.0*5 158*12 164.0";
        assert_eq!(
            of("164.0~", "164.0*5 158*6 _ 158*5 164.0"),
            ["unverifiable contradicted 5..16"]
        );
        assert_eq!(
            of("164.0~*11 _ 164.0~", low),
            [
                "unverifiable contradicted 5..10",
                "unverifiable invalid_reading 11..11",
                "unverifiable contradicted 12..16",
            ]
        );
        assert_eq!(
            of("164.0~*5 _ 164.0~", low),
            ["unverifiable invalid_reading 5..5", "unverifiable contradicted 6..16"]
        );
        // A recorder that is silent before and after adds nothing, nor does one that agrees beside a
        // blank.
        assert_eq!(of("164.0~", "_*10 158*11 _"), [""; 0]);
        assert_eq!(
            of("164.0~*5 _ 164.0~", "164.0*6 158*11 164.0"),
            ["unverifiable invalid_reading 5..5"]
        );
        // Nothing contradicts where the holding temperature is blank throughout.
        assert_eq!(of("_", "158"), ["unverifiable invalid_reading 0..29"]);
    }

    /// 62 samples are more than a minute.
    #[test]
    fn an_invalid_reading_does_not_end_what_heating_water_contradicts() {
        let of =
            |holding: &str, water: &str| told(&day("F*80").holding(holding).water(water).audit());
        let expected = ["unverifiable contradicted 0..61"];
        assert_eq!(of("165.0~", "163.0*30 _*2 163.0*30 170"), expected);
        assert_eq!(of("165.0~", "163.0*30 _*2 163.0*29 170"), [""; 0]);
        assert_eq!(
            of("_ 165.0~", "163.0*62 170"),
            ["unverifiable invalid_reading 0..0", "unverifiable contradicted 1..61"]
        );
    }

    /// 601 samples are 600 s, 602 are more: all but the first are unknown.
    #[test]
    fn a_reading_that_does_not_move_for_ten_minutes_is_frozen() {
        assert_eq!(told(&day("F*700").holding("165.5*601 166.0~").audit()), [""; 0]);
        let audit = day("F*700").holding("165.5*602 166.0~").audit();
        assert_eq!(told(&audit), ["unverifiable frozen 1..601"]);
    }

    /// Without a printed decimal an hour; one printed decimal anywhere tells that the logger has
    /// them.
    #[test]
    fn whole_figures_may_stand_for_an_hour() {
        assert_eq!(told(&day("F*3700").holding("165*3601 166~").audit()), [""; 0]);
        let audit = day("F*3700").holding("165*3602 166~").audit();
        assert_eq!(told(&audit), ["unverifiable frozen 1..3601"]);
        let audit = day("F*3700").holding("165*3602 166.0~").audit();
        assert_eq!(told(&audit), ["unverifiable frozen 1..3601"]);
        let audit = day("F*1000").holding("165*700 165.5~").audit();
        assert_eq!(told(&audit), ["unverifiable frozen 1..699"]);
    }

    #[test]
    fn a_plant_may_ask_for_a_reading_that_moves_sooner() {
        let audit = day("F*40")
            .holding("165.5*20 166.0~")
            .set(|plant| plant.limits.frozen = Some(Duration::from_seconds(18)))
            .audit();
        assert_eq!(told(&audit), ["unverifiable frozen 1..19"]);
    }

    #[test]
    fn each_pressure_may_be_frozen() {
        let audit = day("F*700").pressures("10.0", "15.0~").audit();
        assert_eq!(told(&audit), ["unverifiable frozen 1..699"]);
        let audit = day("F*700").pressures("10.0~", "15.0").audit();
        assert_eq!(told(&audit), ["unverifiable frozen 1..699"]);
        let audit = day("F*700").differential("5.0").audit();
        assert_eq!(told(&audit), ["unverifiable frozen 1..699"]);
    }

    /// What stands while the device is diverted begins anew when it goes forward.
    #[test]
    fn a_reading_freezes_in_exposed_flow_only() {
        assert_eq!(told(&day("D*700").holding("165.5").audit()), [""; 0]);
        assert_eq!(told(&day("F*400 D F*400").holding("165.5").audit()), [""; 0]);
        assert_eq!(
            told(&day("D*100 F*650").holding("165.5").audit()),
            ["unverifiable frozen 101..749"]
        );
    }

    /// An invalid cell that repeats is invalid and not frozen.
    #[test]
    fn a_blank_that_stays_is_invalid_and_not_frozen() {
        let audit = day("F*700").holding("_").audit();
        assert_eq!(told(&audit), ["unverifiable invalid_reading 0..699"]);
    }

    #[test]
    fn an_invalid_reading_does_not_end_what_stands_still() {
        let of = |holding: &str| told(&day("F*700").holding(holding).audit());
        assert_eq!(
            of("165.5*300 _ 165.5*301 166.0~"),
            [
                "unverifiable frozen 1..299",
                "unverifiable invalid_reading 300..300",
                "unverifiable frozen 301..601",
            ]
        );
        assert_eq!(of("165.5*300 _ 165.5*300 166.0~"), ["unverifiable invalid_reading 300..300"]);
        // Not even the first one, which is beyond doubt.
        assert_eq!(
            of("_ 165.5*601 166.0~"),
            ["unverifiable invalid_reading 0..0", "unverifiable frozen 1..601"]
        );
        // A long silence beside some equal readings is no longer than itself, also where the first
        // of them stands alone before it.
        for quiet in ["165.5*10 BAD*602 166.5*9 167.0~", "165.5 BAD*602 165.5*9 167.0~"] {
            let told = of(quiet);
            assert_eq!(told.len(), 1, "{told:?}");
            assert!(told[0].contains("invalid_reading"), "{told:?}");
        }
    }

    /// From sample 602 on the meter moves again; 320 gal·s/min at 20.15 on the average take 15.9 s,
    /// so that the first known residence is that of sample 618.
    #[test]
    fn a_frozen_flow_is_unusable_where_time_is_judged() {
        let frozen = || day("F*700").flow("20.0*602 20.1~");
        assert_eq!(told(&frozen().tube(20, 16_000).audit()), ["unverifiable flow_unusable 1..617"]);
        assert_eq!(told(&frozen().audit()), [""; 0]);
    }

    /// A logger that repeats its last row: 61 samples are a minute, 62 are more.
    #[test]
    fn all_channels_at_once_are_repeated_after_a_minute() {
        let of = |times: usize| {
            let column = |cell: &str| format!("{cell}*{times} 7{cell}~");
            let day = day("F*100").holding(&column("165.0")).differential(&column("5.0"));
            told(&day.flow(&column("20.0")).audit())
        };
        assert_eq!(of(61), [""; 0]);
        assert_eq!(of(62), ["unverifiable repeated 1..61"]);
    }

    #[test]
    fn two_channels_are_too_few_to_tell_a_repeated_row() {
        assert_eq!(told(&day("F*100").holding("165.0").differential("5.0").audit()), [""; 0]);
        // Two pressures and a temperature are three.
        let audit = day("F*100").holding("165.0").pressures("10.0", "15.0").audit();
        assert_eq!(told(&audit), ["unverifiable repeated 1..99"]);
    }

    #[test]
    fn one_channel_that_moves_shows_that_the_logger_lives() {
        let audit = day("F*100").holding("165.0").pressures("10.0", "15.0").raw("38.0~").audit();
        assert_eq!(told(&audit), [""; 0]);
    }

    /// 62 rows are more than a minute; a column that is blank all day is bound beside three that
    /// repeat.
    #[test]
    fn an_invalid_reading_does_not_end_what_is_repeated() {
        let of = |holding: &str, raw: &str, times: usize| {
            let column = |cell: &str| format!("{cell}*{times} 7{cell}~");
            let day = day("F*100").holding(holding).differential(&column("5.0"));
            told(&day.flow(&column("20.0")).raw(raw).audit())
        };
        let still = "165.0*62 175.0~";
        assert_eq!(of(still, "_", 62), ["unverifiable repeated 1..61"]);
        assert_eq!(of(still, "38.0*20 _*5 38.0*37 39.0~", 62), ["unverifiable repeated 1..61"]);
        assert_eq!(
            of("165.0*30 _ 165.0*31 175.0~", "_", 62),
            [
                "unverifiable repeated 1..29",
                "unverifiable invalid_reading+repeated 30..30",
                "unverifiable repeated 31..61",
            ]
        );
        assert_eq!(of("_", "_", 62), ["unverifiable invalid_reading 0..99"]);
        // What is blank says nothing of what moves beside it.
        assert_eq!(of(still, "38.0*30 _ 39.0~", 62), [""; 0]);
    }

    /// Nothing is repeated in rows that are blank, nor in the first one after them.
    #[test]
    fn blank_rows_are_invalid_and_not_repeated() {
        let column = |cell: &str| format!("{cell}~*10 _*62 {cell}~");
        let day = day("F*100").holding(&column("165.0")).differential(&column("5.0"));
        assert_eq!(
            told(&day.flow(&column("20.0")).audit()),
            ["unverifiable invalid_reading 10..71"]
        );
    }

    /// A repeated flow proves no holding either, until the tube's volume has passed since: from
    /// sample 62 on 320 gal·s/min at 20.15 take 15.9 s.
    #[test]
    fn repeated_rows_are_unknown_to_the_holding_time_too() {
        let audit = day("F*100")
            .tube(20, 16_000)
            .holding("165.0*62 165.4~")
            .differential("5.0*62 5.4~")
            .flow("20.0*62 20.1~")
            .audit();
        assert_eq!(
            told(&audit),
            ["unverifiable repeated+flow_unusable 1..61", "unverifiable flow_unusable 62..77",]
        );
    }

    /// A tenth of the test flow: 2 gal/min is a flow, 1.9 is none.
    #[test]
    fn a_meter_without_signal_proves_no_holding() {
        for (flow, expected) in [
            ("2.0", vec![]),
            ("1.9", vec!["unverifiable flow_unusable 0..39"]),
            ("0.0", vec!["unverifiable flow_unusable 0..39"]),
        ] {
            let audit = day("F*40").tube(20, 16_000).flow(flow).audit();
            assert_eq!(told(&audit), expected, "{flow}");
        }
    }

    /// Known by its measures only, and no nominal flow: nothing says what a tenth would be.
    #[test]
    fn a_flow_of_zero_proves_no_holding_in_a_tube_known_by_measures() {
        let tube = plant::Geometry {
            length_metres: 15.0,
            inner_diameter_metres: 0.0729,
            density_kilograms_per_cubic_metre: 1004.0,
            viscosity_pascal_seconds: 0.0006,
        };
        for (flow, expected) in [
            ("0.0", vec!["unverifiable flow_unusable 0..39"]),
            ("-0.1", vec!["unverifiable flow_unusable 0..39"]),
            ("0.1", vec![]),
        ] {
            let day = day("F*40").flow(flow);
            let audit = day.set(|plant| plant.tube = Some(plant::Tube::Measured(tube))).audit();
            assert_eq!(told(&audit), expected, "{flow}");
        }
    }

    /// 30 gal/min nominal; the meter reads less than a tenth while it is forward, and no tube is
    /// described. What passed is reckoned with the nominal flow: 29 s at 30 gal/min.
    #[test]
    fn a_meter_without_signal_vouches_for_no_volume() {
        let audit = day("F*30")
            .holding("150")
            .flow("2.9")
            .set(|plant| {
                plant.nominal_flow = Some(plant::Flow {
                    value: Decimal::whole(30),
                    unit: FlowUnit::GallonPerMinute,
                });
            })
            .audit();
        let volume = audit.passed;
        assert_eq!(volume.basis, crate::Basis::Nominal);
        assert!(volume.value.is_some_and(|gallons| (gallons - 14.5).abs() < 1e-9), "{volume:?}");
    }

    /// Nothing is known of the flow before sample 1: 320 gal·s/min at 20 take 16 s.
    #[test]
    fn a_record_that_begins_with_an_unusable_flow_is_unknown_until_the_volume_has_passed() {
        let audit = day("F*40").tube(20, 16_000).flow("_ 20").audit();
        assert_eq!(told(&audit), ["unverifiable flow_unusable 0..16"]);
    }

    /// While diverted the pump may stand: what stood in the tube was held longer.
    #[test]
    fn a_pump_that_stands_while_diverted_is_no_lost_signal() {
        let audit = day("D*20 F*40").tube(20, 16_000).flow("0*20 20").audit();
        assert_eq!(told(&audit), [""; 0]);
        // In travel or at an unknown position nothing shows that it is diverted: unusable, and then
        // until 320 gal·s/min have passed, 16 s after sample 25.
        let of = |valve: &str| {
            let valve = format!("D*20 {valve}*5 F*40");
            told(&day(&valve).tube(20, 16_000).flow("0*25 20").audit())
        };
        assert_eq!(of("V"), ["unverifiable flow_unusable 20..40"]);
        assert_eq!(
            of("U"),
            ["unverifiable position_unknown 20..24", "unverifiable flow_unusable 25..40"]
        );
    }

    #[test]
    fn the_plants_own_low_flow_holds() {
        let audit = day("F*40")
            .tube(20, 16_000)
            .flow("4.9")
            .set(|plant| {
                let value = Decimal::whole(5);
                plant.limits.low_flow =
                    Some(plant::Flow { value, unit: FlowUnit::GallonPerMinute });
            })
            .audit();
        assert_eq!(told(&audit), ["unverifiable flow_unusable 0..39"]);
    }
}
