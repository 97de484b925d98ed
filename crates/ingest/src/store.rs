//! The rows of all files, column by column, in the order in which they were read.
//!
//! Every column grows by one reading a row; a column that a file does not have is filled with
//! blanks. Rows are put in order of time later, and only where they are not.

use crate::stamp::Stamp;
use plant::AnyUnit;
use trace::{
    Channel, ChannelView, Decimal, FlowUnit, Invalid, PressureUnit, Reading, Role, TemperatureUnit,
    TextChannel, Toward, ValveState,
};

/// The roles that hold readings, in the order of the slots in [`Store::numbers`].
pub(crate) const NUMBERS: [Role; 13] = [
    Role::HoldingTemperature,
    Role::RawPressure,
    Role::PasteurizedPressure,
    Role::DifferentialPressure,
    Role::RecorderTemperature,
    Role::FlowRate,
    Role::RawTemperature,
    Role::RegeneratedTemperature,
    Role::HeatingWaterTemperature,
    Role::CooledTemperature,
    Role::CleaningReturnTemperature,
    Role::HeatingMediumPressure,
    Role::CoolingMediumPressure,
];

/// The roles that hold words, in the order of the slots in [`Store::texts`].
pub(crate) const TEXTS: [Role; 4] = Role::TEXTS;

/// The roles that are on or off, in the order of the slots in [`Store::switches`].
pub(crate) const SWITCHES: [Role; 5] = Role::SWITCHES;

/// The place of a role in [`NUMBERS`].
pub(crate) fn number_slot(role: Role) -> Option<usize> {
    NUMBERS.iter().position(|&other| other == role)
}

/// The place of a role in [`TEXTS`].
pub(crate) fn text_slot(role: Role) -> Option<usize> {
    TEXTS.iter().position(|&other| other == role)
}

/// The place of a role in [`SWITCHES`].
pub(crate) fn switch_slot(role: Role) -> Option<usize> {
    SWITCHES.iter().position(|&other| other == role)
}

/// The channels that hold by themselves, in the order of the bits of [`Unchanged::cells`].
pub(crate) const CHANNELS: usize = NUMBERS.len() + TEXTS.len() + 3 + SWITCHES.len();

/// Which cells of each row were left blank, as nothing had changed.
#[derive(Debug, Default)]
pub(crate) struct Unchanged {
    /// A bit for each channel.
    pub(crate) cells: Vec<u32>,
    /// The forward and the divert switch, where both are recorded: each holds by itself.
    pub(crate) switches: Vec<[Option<bool>; 2]>,
    pub(crate) has_switches: bool,
}

impl Unchanged {
    /// A row: the bits of its blank cells, and its switches.
    pub(crate) fn push(&mut self, cells: u32, switches: Option<[Option<bool>; 2]>) {
        self.cells.push(cells);
        self.switches.push(switches.unwrap_or_default());
        self.has_switches |= switches.is_some();
    }

    /// Nothing is known of the cells from a row on.
    pub(crate) fn truncate(&mut self, rows: usize) {
        self.cells.truncate(rows);
        self.switches.truncate(rows);
    }

    /// Cells that a file does not have vouch for nothing.
    pub(crate) fn pad(&mut self, rows: usize) {
        self.cells.resize(rows, 0);
        self.switches.resize(rows, [None; 2]);
    }
}

/// The bit of a channel.
pub(crate) fn bit(role: Role) -> u32 {
    let valve = [Role::Valve, Role::ValveForward, Role::ValveDivert];
    let mut all = NUMBERS.into_iter().chain(TEXTS).chain(valve).chain(SWITCHES);
    all.position(|other| other == role).map_or(0, |place| 1 << place)
}

/// A channel of whichever kind.
#[derive(Debug)]
pub(crate) enum AnyChannel {
    Temperature(Channel<TemperatureUnit>),
    Pressure(Channel<PressureUnit>),
    Flow(Channel<FlowUnit>),
}

impl AnyChannel {
    fn new(unit: AnyUnit, range: (Decimal, Decimal), toward: Toward) -> Self {
        match unit {
            AnyUnit::Temperature(unit) => Self::Temperature(Channel::new(unit, range, toward)),
            AnyUnit::Pressure(unit) => Self::Pressure(Channel::new(unit, range, toward)),
            AnyUnit::Flow(unit) => Self::Flow(Channel::new(unit, range, toward)),
        }
    }

    pub(crate) fn view(&self) -> ChannelView<'_> {
        match self {
            Self::Temperature(channel) => ChannelView::Temperature(channel),
            Self::Pressure(channel) => ChannelView::Pressure(channel),
            Self::Flow(channel) => ChannelView::Flow(channel),
        }
    }

    fn len(&self) -> usize {
        self.view().mantissas().len()
    }

    /// Adds a reading; says why when it is not valid.
    #[inline]
    pub(crate) fn push(&mut self, reading: Reading) -> Option<Invalid> {
        fn push<U: trace::Unit>(channel: &mut Channel<U>, reading: Reading) -> Option<Invalid> {
            channel.push(reading);
            match channel.mantissas().last() {
                Some(&mantissa) if Channel::<U>::is_valid(mantissa) => None,
                _ => match channel.reading(channel.len().saturating_sub(1)) {
                    Reading::Invalid(reason) => Some(reason),
                    Reading::Valid(_) => None,
                },
            }
        }
        match self {
            Self::Temperature(channel) => push(channel, reading),
            Self::Pressure(channel) => push(channel, reading),
            Self::Flow(channel) => push(channel, reading),
        }
    }

    /// See [`Channel::push_mantissa`].
    #[inline]
    pub(crate) fn push_mantissa(&mut self, mantissa: Option<i64>) {
        match self {
            Self::Temperature(channel) => channel.push_mantissa(mantissa),
            Self::Pressure(channel) => channel.push_mantissa(mantissa),
            Self::Flow(channel) => channel.push_mantissa(mantissa),
        }
    }

    /// See [`Channel::bounds`].
    pub(crate) const fn bounds(&self) -> (i64, i64) {
        match self {
            Self::Temperature(channel) => channel.bounds(),
            Self::Pressure(channel) => channel.bounds(),
            Self::Flow(channel) => channel.bounds(),
        }
    }

    /// The readings of these rows; a blank one for a row that there is not.
    pub(crate) fn of_rows(self, rows: impl Iterator<Item = usize>) -> Self {
        fn of_rows<U: trace::Unit>(
            channel: &Channel<U>,
            rows: impl Iterator<Item = usize>,
        ) -> Channel<U> {
            let mut these = channel.empty_like().with_capacity(rows.size_hint().0);
            for row in rows {
                these.push(channel.reading(row));
            }
            these
        }
        match self {
            Self::Temperature(channel) => Self::Temperature(of_rows(&channel, rows)),
            Self::Pressure(channel) => Self::Pressure(of_rows(&channel, rows)),
            Self::Flow(channel) => Self::Flow(of_rows(&channel, rows)),
        }
    }

    fn reserve(self, rows: usize) -> Self {
        match self {
            Self::Temperature(channel) => Self::Temperature(channel.with_capacity(rows)),
            Self::Pressure(channel) => Self::Pressure(channel.with_capacity(rows)),
            Self::Flow(channel) => Self::Flow(channel.with_capacity(rows)),
        }
    }

    pub(crate) fn temperature(self) -> Option<Channel<TemperatureUnit>> {
        if let Self::Temperature(channel) = self { Some(channel) } else { None }
    }

    pub(crate) fn pressure(self) -> Option<Channel<PressureUnit>> {
        if let Self::Pressure(channel) = self { Some(channel) } else { None }
    }

    pub(crate) fn flow(self) -> Option<Channel<FlowUnit>> {
        if let Self::Flow(channel) = self { Some(channel) } else { None }
    }
}

/// See the module.
#[derive(Debug, Default)]
pub(crate) struct Store {
    pub(crate) stamps: Vec<Stamp>,
    pub(crate) valve: Vec<ValveState>,
    pub(crate) numbers: [Option<AnyChannel>; NUMBERS.len()],
    pub(crate) switches: [Option<Vec<Option<bool>>>; SWITCHES.len()],
    pub(crate) texts: [Option<TextChannel>; TEXTS.len()],
    /// Where a blank cell says that nothing changed.
    pub(crate) unchanged: Option<Unchanged>,
}

impl Store {
    /// The number of rows.
    pub(crate) fn rows(&self) -> usize {
        self.stamps.len()
    }

    /// The channel of a role.
    pub(crate) fn number(&self, role: Role) -> Option<&AnyChannel> {
        number_slot(role).and_then(|slot| self.numbers.get(slot)?.as_ref())
    }

    /// Whether both pressures of the regenerator are there.
    pub(crate) fn has_pair(&self) -> bool {
        [Role::RawPressure, Role::PasteurizedPressure]
            .into_iter()
            .all(|role| self.number(role).is_some())
    }

    /// Makes sure that there is a channel for `role`; `Err` is the unit that it has already, when
    /// that is another.
    pub(crate) fn open(
        &mut self,
        role: Role,
        unit: AnyUnit,
        range: (Decimal, Decimal),
    ) -> Result<(), &'static str> {
        let Some(slot) = number_slot(role).and_then(|slot| self.numbers.get_mut(slot)) else {
            return Ok(());
        };
        match slot {
            None => *slot = Some(AnyChannel::new(unit, range, role.worse())),
            Some(channel) if channel.view().symbol() != unit.symbol() => {
                return Err(channel.view().symbol());
            }
            Some(_) => {}
        }
        self.pad();
        Ok(())
    }

    /// Makes sure that there is a column of states for `role`.
    pub(crate) fn open_switch(&mut self, role: Role) {
        if let Some(slot) = switch_slot(role).and_then(|slot| self.switches.get_mut(slot)) {
            slot.get_or_insert_default();
        }
        self.pad();
    }

    /// Makes sure that there is a column of words for `role`.
    pub(crate) fn open_text(&mut self, role: Role) {
        if let Some(slot) = text_slot(role).and_then(|slot| self.texts.get_mut(slot)) {
            slot.get_or_insert_default();
        }
        self.pad();
    }

    /// Makes room for about so many more rows.
    pub(crate) fn reserve(&mut self, rows: usize) {
        self.stamps.reserve(rows);
        self.valve.reserve(rows);
        for slot in &mut self.numbers {
            *slot = slot.take().map(|channel| channel.reserve(rows));
        }
        for states in self.switches.iter_mut().flatten() {
            states.reserve(rows);
        }
    }

    /// Makes all cells from a row on blank.
    #[cold]
    pub(crate) fn blank_from(&mut self, row: usize) {
        self.valve.truncate(row);
        for slot in &mut self.numbers {
            *slot = slot.take().map(|channel| channel.of_rows(0..row));
        }
        for states in self.switches.iter_mut().flatten() {
            states.truncate(row);
        }
        if let Some(unchanged) = &mut self.unchanged {
            unchanged.truncate(row);
        }
        for text in self.texts.iter_mut().flatten() {
            let mut beginning = TextChannel::new();
            (0..row).for_each(|row| beginning.push(text.word(row)));
            *text = beginning;
        }
        self.pad();
    }

    /// Fills columns that the file before did not have.
    pub(crate) fn pad(&mut self) {
        let rows = self.stamps.len();
        self.valve.resize(rows, ValveState::Unknown);
        for channel in self.numbers.iter_mut().flatten() {
            while channel.len() < rows {
                channel.push(Reading::Invalid(Invalid::Blank));
            }
        }
        for states in self.switches.iter_mut().flatten() {
            states.resize(rows, None);
        }
        if let Some(unchanged) = &mut self.unchanged {
            unchanged.pad(rows);
        }
        for text in self.texts.iter_mut().flatten() {
            while text.len() < rows {
                text.push("");
            }
        }
    }
}
