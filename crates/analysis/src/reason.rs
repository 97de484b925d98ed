//! Why the device left forward flow, as far as the record shows it (method, section 8, "diverts").
//!
//! A reason is looked for at the moment of the passage first, then in what followed: the operators
//! stop a line after they diverted it. Milk that shows at the thermometer within seconds of the
//! divert was in the holding tube before, so what is cold there is a cause and no consequence.

use crate::context::Context;
use crate::residence::flows_too_fast;
use crate::rules::Rule;
use crate::verdicts::Run;
use plant::Mode;
use trace::{Channel, ChannelView, Decimal, Duration, Role, TextChannel, Unit, Value};

/// What the record shows of the reason for a divert.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DivertReason {
    /// A thermometer at the end of the holding tube was below the limit.
    Temperature,
    /// The differential pressure was below its limit.
    Differential,
    /// The flow was too fast for the holding time.
    Flow,
    /// A flow alarm was on.
    FlowAlarm,
    /// Somebody turned the mode switch of the device.
    ModeSwitch,
    /// The timing pump stood, or next to nothing flowed.
    PumpStopped,
    /// The line was on water or in cleaning.
    OffProduct,
    /// Another product followed.
    ProductChange,
    /// Forward flow did not come back.
    EndOfProduction,
    /// The record has a gap there.
    Gap,
    /// None of these.
    NotInRecord,
}

impl DivertReason {
    /// All reasons, in the order in which they are looked for.
    pub const ALL: [Self; 11] = [
        Self::Temperature,
        Self::Differential,
        Self::Flow,
        Self::FlowAlarm,
        Self::ModeSwitch,
        Self::PumpStopped,
        Self::OffProduct,
        Self::ProductChange,
        Self::EndOfProduction,
        Self::Gap,
        Self::NotInRecord,
    ];

    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Temperature => "temperature",
            Self::Differential => "differential",
            Self::Flow => "flow",
            Self::FlowAlarm => "flow_alarm",
            Self::ModeSwitch => "mode_switch",
            Self::PumpStopped => "pump_stopped",
            Self::OffProduct => "off_product",
            Self::ProductChange => "product_change",
            Self::EndOfProduction => "end_of_production",
            Self::Gap => "gap",
            Self::NotInRecord => "not_in_record",
        }
    }

    /// The name for a person.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Temperature => "temperature",
            Self::Differential => "differential pressure",
            Self::Flow => "flow too fast",
            Self::FlowAlarm => "flow alarm",
            Self::ModeSwitch => "mode switch turned",
            Self::PumpStopped => "timing pump stopped",
            Self::OffProduct => "off product, water or cleaning",
            Self::ProductChange => "product change",
            Self::EndOfProduction => "end of production",
            Self::Gap => "gap in the record",
            Self::NotInRecord => "not in the record",
        }
    }
}

/// A reason with the reading that shows it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Shown {
    pub reason: DivertReason,
    /// The reading; of temperature, differential and flow.
    pub reading: Option<Value>,
}

/// Within this of the divert a thermometer shows what was in the tube before: a recorder responds
/// within 5 s (PMO App. I, test 8, not verified), and no tube holds for less than 15 s in forward
/// flow.
const LAG: Duration = Duration::from_seconds(5);
/// How long after the divert the operators have to stop the line, change over or begin to clean (ours).
const AFTERWARDS: Duration = Duration::from_seconds(60);
/// A line that stays diverted for this long up to the end of the record has ended (ours).
const ENDED: Duration = Duration::from_seconds(600);

/// What the record shows of a passage from the last forward sample to the first diverted one;
/// `back` is the passage to forward flow that follows.
pub(crate) fn shown(context: &Context<'_>, (last, first): Run, back: Option<Run>) -> Shown {
    let none = |reason| Shown { reason, reading: None };
    let moment = last..=first;
    let record = context.record;
    let verdicts = context.verdicts;
    let short = |rule| moment.clone().any(|sample| verdicts.is_short(sample, rule));
    let too_fast = |sample| flows_too_fast(record, context.plant, context.span(sample), sample);
    if let Some(cold) = moment.clone().find_map(|sample| cold(context, sample)) {
        return cold;
    }
    if short(Rule::DIFFERENTIAL) {
        let at = moment.clone().find(|&sample| verdicts.is_short(sample, Rule::DIFFERENTIAL));
        let reading = at.and_then(|at| reading(record.differential(), at, Value::Pressure));
        return Shown { reason: DivertReason::Differential, reading };
    }
    if short(Rule::HOLDING_TIME) || moment.clone().any(too_fast) {
        let fastest = record.flow_rate().and_then(|flow| {
            let read = |&sample: &usize| ChannelView::is_valid(flow.mantissas()[sample]);
            let fastest = moment.filter(read).max_by_key(|&sample| flow.mantissas()[sample]);
            reading(flow, fastest?, Value::Flow)
        });
        return Shown { reason: DivertReason::Flow, reading: fastest };
    }
    let alarmed = |sample| {
        let alarms = [Role::HighFlowAlarm, Role::LowFlowAlarm].map(|role| record.switch(role));
        alarms.into_iter().flatten().any(|alarm| alarm[sample] == Some(true))
    };
    if moment.clone().any(alarmed) {
        return none(DivertReason::FlowAlarm);
    }
    let position = |sample| record.text(Role::ModeSwitch).map_or("", |text| text.word(sample));
    let turned = |sample| ![position(last), ""].contains(&position(sample));
    if !position(last).is_empty() && moment.clone().any(turned) {
        return none(DivertReason::ModeSwitch);
    }
    if moment.clone().any(|sample| context.is_pump_stopped(sample)) {
        return none(DivertReason::PumpStopped);
    }
    // What followed, up to the next gap, and not beyond the next forward sample.
    let until = back.map_or(record.samples() - 1, |(_, forward)| forward - 1);
    let instants = record.instants();
    let followed = |within: Duration| {
        let follows = (first..=until)
            .take_while(move |&sample| instants[sample].since(instants[first]) <= within);
        let mut whole = true;
        follows
            .take_while(move |&sample| std::mem::replace(&mut whole, !verdicts.gap_after(sample)))
    };
    if let Some(cold) = followed(LAG).find_map(|sample| cold(context, sample)) {
        return cold;
    }
    if followed(AFTERWARDS).any(|sample| context.is_pump_stopped(sample)) {
        return none(DivertReason::PumpStopped);
    }
    let off = |sample| context.mode_at(sample) != Mode::Production;
    if moment.clone().any(off) || followed(AFTERWARDS).any(off) {
        return none(DivertReason::OffProduct);
    }
    let word = |sample| record.product().map_or("", |product: &TextChannel| product.word(sample));
    let changed = |sample| word(sample) != word(last);
    if followed(AFTERWARDS).chain(back.map(|(_, forward)| forward)).any(changed) {
        return none(DivertReason::ProductChange);
    }
    let end = instants[record.samples() - 1];
    if back.is_none() && end.since(instants[first]) >= ENDED {
        return none(DivertReason::EndOfProduction);
    }
    if (last..first).any(|sample| verdicts.gap_after(sample)) {
        return none(DivertReason::Gap);
    }
    none(DivertReason::NotInRecord)
}

/// The reading of a thermometer that is below the limit at a sample: the controller acts on its own,
/// which is the recorder's.
fn cold(context: &Context<'_>, sample: usize) -> Option<Shown> {
    let record = context.record;
    let with = |reading| Shown { reason: DivertReason::Temperature, reading };
    if context.verdicts.is_short(sample, Rule::TEMPERATURE) {
        return Some(with(reading(record.holding_temperature(), sample, Value::Temperature)));
    }
    let recorder = record.recorder_temperature()?;
    let limit = context.span(sample).of_recorder?.floor_mantissa(recorder.scale());
    let mantissa = recorder.mantissas()[sample];
    let is_cold = ChannelView::is_valid(mantissa) && mantissa < limit;
    is_cold.then(|| with(reading(recorder, sample, Value::Temperature)))
}

fn reading<U: Unit>(
    channel: &Channel<U>,
    sample: usize,
    value: fn(Decimal, U) -> Value,
) -> Option<Value> {
    Some(value(channel.reading(sample).valid()?, channel.unit()))
}

#[cfg(test)]
mod tests {
    use super::DivertReason::{
        self, Differential, EndOfProduction, Flow, FlowAlarm, Gap, ModeSwitch, NotInRecord,
        OffProduct, ProductChange, PumpStopped, Temperature,
    };
    use crate::specimen::{Specimen, day};

    /// Of the first divert.
    fn of(specimen: Specimen) -> Option<DivertReason> {
        specimen.audit().diverts.first().map(|one| one.reason)
    }

    #[test]
    fn a_reason_is_looked_for_from_the_last_forward_sample_to_the_first_diverted() {
        for (name, specimen, expected) in [
            ("cold", day("F*2 D").holding("165 165 160.9"), Temperature),
            ("cold in travel", day("F V D").holding("165 160 165"), Temperature),
            ("cold before", day("F*2 D").holding("160 165 165"), NotInRecord),
            ("both", day("F*2 D").holding("160").differential("1"), Temperature),
            ("differential", day("F*2 D").differential("5 1.9 5"), Differential),
            ("flow", day("F*2 D").tube(20, 16_000).flow("22"), Flow),
            ("pump", day("F*2 D").pump("on*2 off"), PumpStopped),
            ("no flow", day("F*2 D").tube(20, 16_000).flow("20*2 1.9"), PumpStopped),
            ("nothing", day("F*2 D"), NotInRecord),
        ] {
            assert_eq!(of(specimen), Some(expected), "{name}");
        }
    }

    #[test]
    fn an_alarm_or_the_mode_switch_is_a_reason() {
        assert_eq!(of(day("F*2 D").alarms("off*2 on", "off")), Some(FlowAlarm));
        assert_eq!(of(day("F*2 D").alarms("off", "off*2 on")), Some(FlowAlarm));
        assert_eq!(of(day("F*2 D").alarms("on off", "_")), Some(NotInRecord));
        assert_eq!(of(day("F*2 D").mode_switch("AUTO*2 HAND")), Some(ModeSwitch));
        // Not what is blank on one side.
        assert_eq!(of(day("F*2 D").mode_switch("AUTO*2 _")), Some(NotInRecord));
        assert_eq!(of(day("F*2 D").mode_switch("_*2 HAND")), Some(NotInRecord));
    }

    /// The controller has the recorder's thermometer.
    #[test]
    fn the_recorder_below_the_limit_is_a_reason_too() {
        assert_eq!(of(day("F*2 D").recorder("165 165 160.9")), Some(Temperature));
        assert_eq!(of(day("F*2 D").recorder("165 165 161.0")), Some(NotInRecord));
        assert_eq!(of(day("F*2 D").recorder("165 165 _")), Some(NotInRecord));
    }

    /// The milk of the first five seconds was in the tube; what comes later was cooled by the divert.
    #[test]
    fn a_thermometer_may_lag_by_five_seconds() {
        let after = |warm: usize| day("F D*60").holding(&format!("165*{warm} 160"));
        assert_eq!(of(after(6)), Some(Temperature));
        assert_eq!(of(after(7)), Some(NotInRecord));
        // A gap tells nothing of what follows it.
        assert_eq!(of(after(6).step(4, 16_000)), Some(NotInRecord));
    }

    #[test]
    fn a_flow_is_too_fast_before_the_tube_has_emptied() {
        // 20 for 16 s is the tube; above 21.33 it holds for less than 15 s.
        let day = |flow: &str| day("F*40 D").tube(20, 16_000).flow(&format!("20*40 {flow}"));
        assert_eq!(of(day("21.4")), Some(Flow));
        assert_eq!(of(day("21.3")), Some(NotInRecord));
    }

    #[test]
    fn what_follows_within_a_minute_is_a_reason() {
        let pump = |after: usize| day("F D*100").pump(&format!("on*{after} off"));
        assert_eq!(of(pump(61)), Some(PumpStopped));
        assert_eq!(of(pump(62)), Some(NotInRecord));
        let mode = |after: usize| day("F D*100").mode(&format!("production*{after} cip"));
        assert_eq!(of(mode(61)), Some(OffProduct));
        assert_eq!(of(mode(62)), Some(NotInRecord));
        assert_eq!(of(day("F D").mode("water")), Some(OffProduct));
        // Not what follows after the line went forward again.
        assert_eq!(of(day("F D F D*9").pump("on*3 off")), Some(NotInRecord));
    }

    /// The device waits diverted for the next product, however long that takes.
    #[test]
    fn another_product_is_a_reason() {
        let of_products =
            |after: usize| of(day("F D*200 F*2").product(&format!("milk*{after} cream")));
        assert_eq!(of_products(10), Some(ProductChange));
        assert_eq!(of_products(150), Some(ProductChange));
        assert_eq!(of_products(202), Some(NotInRecord));
    }

    #[test]
    fn ten_minutes_up_to_the_end_are_the_end_of_production() {
        assert_eq!(of(day("F D*601")), Some(EndOfProduction));
        assert_eq!(of(day("F D*600")), Some(NotInRecord));
        assert_eq!(of(day("F D*601 F")), Some(NotInRecord));
    }

    #[test]
    fn a_gap_hides_the_reason() {
        assert_eq!(of(day("F D").step(0, 16_000)), Some(Gap));
        assert_eq!(of(day("F D").step(0, 16_000).holding("165 160")), Some(Temperature));
    }

    #[test]
    fn keys_and_names_are_unique() {
        for of in [DivertReason::key, DivertReason::name] {
            let mut words = DivertReason::ALL.map(of).to_vec();
            words.sort_unstable();
            words.dedup();
            assert_eq!(words.len(), DivertReason::ALL.len());
        }
    }
}
