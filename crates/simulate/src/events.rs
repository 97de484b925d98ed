//! What happened on a day beside flow that was not safe, seen in the state of the model: every divert with what
//! asked for it, the flow alarms, media that stood as high as the product, the cleanings, and each minute what the tube had and how much had gone
//! forward. An audit sees none of it but through the readings.

use crate::script::Medium;
use crate::step::STEP_MILLISECONDS;
use trace::{Duration, Instant, Interval, Role};

const STEP: Duration = Duration::from_milliseconds(STEP_MILLISECONDS);

/// What asked the device to divert.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DivertCause {
    /// The tube got too cold.
    Temperature,
    /// A flow alarm.
    FlowAlarm,
    /// Somebody, with the mode switch.
    Hand,
    /// The line was stopped.
    Stopped,
    /// A cleaning began.
    Cleaning,
    /// Nothing that the record could show.
    Unasked,
}

impl DivertCause {
    /// The key in JSON.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Temperature => "temperature",
            Self::FlowAlarm => "flow_alarm",
            Self::Hand => "hand",
            Self::Stopped => "stopped",
            Self::Cleaning => "cleaning",
            Self::Unasked => "unasked",
        }
    }
}

/// A divert.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Diverted {
    /// From when the device left its forward switch to when it was there again, or the end of the day.
    pub interval: Interval,
    /// What asked for it.
    pub cause: DivertCause,
    /// The temperature at the end of the tube when it began, °F.
    pub holding_f: f64,
}

/// A flow alarm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FlowAlarm {
    /// The flow is too high.
    High,
    /// The flow is too low, or its signal is lost.
    Low,
}

impl FlowAlarm {
    /// Both, in the order in which they are seen.
    pub const ALL: [Self; 2] = [Self::High, Self::Low];

    /// The column that records it.
    pub const fn role(self) -> Role {
        match self {
            Self::High => Role::HighFlowAlarm,
            Self::Low => Role::LowFlowAlarm,
        }
    }
}

/// A flow alarm, while it was on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Alarmed {
    /// Which.
    pub alarm: FlowAlarm,
    /// From and to.
    pub interval: Interval,
    /// How long of it the device was forward.
    pub forward: Duration,
}

/// A medium that stood as high as the product, outside a cleaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Risen {
    /// Which.
    pub medium: Medium,
    /// From and to.
    pub interval: Interval,
}

/// A cleaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cleaned {
    /// From when the device was diverted for it to when it ended.
    pub interval: Interval,
    /// How long something flowed and the tube was as hot as the plant asks of a cleaning.
    pub tube_hot: Duration,
    /// The same of the solution that came back.
    pub return_hot: Duration,
}

/// The state of the line at a whole minute.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Minute {
    /// When.
    pub at: Instant,
    /// The temperature at the end of the tube, °F.
    pub holding_f: f64,
    /// What had gone forward since the begin of the day, gallons.
    pub forward_gallons: f64,
}

/// What happened.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Events {
    /// The diverts, in order.
    pub diverts: Vec<Diverted>,
    /// The alarms, in order.
    pub alarms: Vec<Alarmed>,
    /// The media that stood too high, in order.
    pub risen: Vec<Risen>,
    /// The cleanings, in order.
    pub cleanings: Vec<Cleaned>,
    /// The minutes, in order.
    pub minutes: Vec<Minute>,
    /// When product went forward in mode production first and last, between two cleanings.
    pub productions: Vec<Interval>,
}

/// What the witness sees at one step.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sight {
    pub now: Instant,
    /// What asked the device to divert at this step.
    pub sent: Option<DivertCause>,
    pub is_forward: bool,
    pub share_forward: f64,
    pub flow_gpm: f64,
    pub holding_f: f64,
    pub return_f: f64,
    /// Of the alarms, in their order.
    pub alarms: [bool; 2],
    /// Whether heating and cooling medium stand as high as the product.
    pub media_above: [bool; 2],
    pub cleaning: bool,
    /// Product is fed, and may go forward.
    pub product: bool,
}

/// Collects the events.
#[derive(Debug, Default)]
#[expect(clippy::struct_excessive_bools, reason = "each is what was seen last, on its own")]
pub(crate) struct Witness {
    events: Events,
    forward_gallons: f64,
    was_forward: bool,
    cause: Option<DivertCause>,
    diverted: bool,
    alarmed: [bool; 2],
    risen: [bool; 2],
    cleaning: bool,
    producing: bool,
}

impl Witness {
    /// Looks at one step; a cleaning is hot from `hot_f` on, where the plant asks for that.
    pub fn look(&mut self, sight: &Sight, hot_f: Option<f64>) {
        let now = sight.now;
        if now.unix_milliseconds() % 60_000 == 0 {
            let (holding_f, forward_gallons) = (sight.holding_f, self.forward_gallons);
            self.events.minutes.push(Minute { at: now, holding_f, forward_gallons });
        }
        self.forward_gallons += sight.flow_gpm / 60.0 * STEP.seconds() * sight.share_forward;
        self.cause = sight.sent.or(self.cause);
        self.divert(sight);
        self.alarm(sight);
        self.media(sight);
        self.clean(sight, hot_f);
        if sight.product {
            match self.events.productions.last_mut() {
                Some(last) if self.producing => *last = Interval::between(last.start(), now),
                _ => self.events.productions.push(Interval::at(now)),
            }
            self.producing = true;
        }
        self.was_forward = sight.is_forward;
    }

    fn divert(&mut self, sight: &Sight) {
        let Sight { now, is_forward, holding_f, .. } = *sight;
        if self.was_forward
            && !is_forward
            && let Some(cause) = self.cause.take()
        {
            let interval = Interval::at(now);
            self.events.diverts.push(Diverted { interval, cause, holding_f });
            self.diverted = true;
        }
        if let Some(last) = self.events.diverts.last_mut().filter(|_| self.diverted) {
            last.interval = Interval::between(last.interval.start(), now);
            self.diverted = !is_forward;
        }
    }

    fn alarm(&mut self, sight: &Sight) {
        let Sight { now, is_forward, alarms, .. } = *sight;
        for ((alarm, is_on), was_on) in FlowAlarm::ALL.into_iter().zip(alarms).zip(self.alarmed) {
            if is_on && !was_on {
                let (interval, forward) = (Interval::at(now), Duration::ZERO);
                self.events.alarms.push(Alarmed { alarm, interval, forward });
            }
            let mut all = self.events.alarms.iter_mut();
            if let Some(last) = all.rfind(|one| one.alarm == alarm).filter(|_| is_on) {
                last.interval = Interval::between(last.interval.start(), now);
                last.forward = last.forward + if is_forward { STEP } else { Duration::ZERO };
            }
        }
        self.alarmed = alarms;
    }

    fn media(&mut self, sight: &Sight) {
        let Sight { now, media_above, cleaning, .. } = *sight;
        let above = media_above.map(|is_above| is_above && !cleaning);
        for ((medium, is_above), was_above) in Medium::ALL.into_iter().zip(above).zip(self.risen) {
            if is_above && !was_above {
                self.events.risen.push(Risen { medium, interval: Interval::at(now) });
            }
            let mut all = self.events.risen.iter_mut();
            if let Some(last) = all.rfind(|one| one.medium == medium).filter(|_| is_above) {
                last.interval = Interval::between(last.interval.start(), now);
            }
        }
        self.risen = above;
    }

    fn clean(&mut self, sight: &Sight, hot_f: Option<f64>) {
        let Sight { now, cleaning, holding_f, return_f, flow_gpm, .. } = *sight;
        if cleaning && !self.cleaning {
            let (tube_hot, return_hot) = (Duration::ZERO, Duration::ZERO);
            self.events.cleanings.push(Cleaned {
                interval: Interval::at(now),
                tube_hot,
                return_hot,
            });
        }
        if let Some(last) = self.events.cleanings.last_mut().filter(|_| cleaning) {
            last.interval = Interval::between(last.interval.start(), now);
            let hot = |at: f64| {
                let is_hot = flow_gpm > 5.0 && hot_f.is_some_and(|hot| at >= hot);
                if is_hot { STEP } else { Duration::ZERO }
            };
            last.tube_hot = last.tube_hot + hot(holding_f);
            last.return_hot = last.return_hot + hot(return_f);
            self.producing = false;
        }
        self.cleaning = cleaning;
    }

    pub fn finish(self) -> Events {
        self.events
    }
}

impl Events {
    /// What went forward between two whole minutes, gallons; `None` of a time that is not among them.
    pub fn forward_between(&self, from: Instant, to: Instant) -> Option<f64> {
        let at = |when: Instant| self.minutes.iter().find(|minute| minute.at == when);
        Some(at(to)?.forward_gallons - at(from)?.forward_gallons)
    }
}
