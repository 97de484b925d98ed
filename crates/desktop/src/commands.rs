//! Every action of the program once: the enum that feeds the menu, the keys, the tooltips and the
//! searchable list of commands.

use crate::day::PlotKind;
use crate::register::RegisterPage;
use egui::{Key, KeyboardShortcut, Modifiers};

/// An action.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Command {
    /// Choose record files and open them.
    OpenFiles,
    /// Choose a folder and open its days.
    OpenFolder,
    /// Choose a plant file and read the open record again with it.
    OpenPlant,
    /// Open the invented demo day.
    OpenDemo,
    /// Read what is open again, or open what was open last.
    OpenAgain,
    /// Stop reading.
    Cancel,
    /// The next day of the folder.
    NextDay,
    /// The day before in the folder.
    PreviousDay,
    /// The register of the folder's days.
    ShowRegister,
    /// The oldest day that is still to be reviewed.
    OldestToReview,
    /// The register a month later.
    NextMonth,
    /// The register a month earlier.
    MonthBefore,
    /// A page of the register.
    Register(RegisterPage),
    /// The list of commands.
    CommandList,
    /// The exception with the greatest shortfall, its worst minute measured.
    WorstMinute,
    /// The next exception.
    NextException,
    /// The exception before.
    PreviousException,
    /// The record from end to end.
    WholeDay,
    /// The shift around the crosshair.
    ShowShift,
    /// The chosen exception with its surroundings.
    ShowException,
    /// Five minutes on either side.
    FiveMinutes,
    /// Half the time.
    ZoomIn,
    /// Twice the time.
    ZoomOut,
    /// A quarter window earlier.
    PanEarlier,
    /// A quarter window later.
    PanLater,
    /// The crosshair one sample earlier.
    SampleEarlier,
    /// The crosshair one sample later.
    SampleLater,
    /// Begin or end a measured span at the crosshair.
    Measure,
    /// Remove the measured span and the crosshair's hold.
    ClearMeasure,
    /// Show the list of exceptions.
    ShowExceptions,
    /// Show the list of observations.
    ShowObservations,
    /// Show the process over the run: holding tube, lethality, trends.
    ShowProcess,
    /// Show the runs of product and the lots.
    ShowRuns,
    /// Show the recorder's offset, cut-ins and cut-outs.
    ShowInstruments,
    /// Show what the record must hold.
    ShowCompleteness,
    /// Type a filter for the list.
    Filter,
    /// Fold or unfold all episodes.
    FoldEpisodes,
    /// The next exception that is not settled.
    NextOpen,
    /// The keyboard goes to the settlement of the chosen exception.
    Settlement,
    /// Enter the settlement and go to the next exception that is not settled.
    Settle,
    /// The keyboard goes to the remark with which a supervisor sends back.
    SendBack,
    /// Show the next kind of observations that nobody acknowledged, or acknowledge the one shown.
    Acknowledge,
    /// The keyboard goes to the next entry that the record lacks.
    EnterNext,
    /// Take back what was decided last.
    TakeBack,
    /// The next shift, or the whole day, for signing.
    NextScope,
    /// Sign what was reviewed.
    Sign,
    /// Open again what is signed.
    Reopen,
    /// Enter the new audit of a record that has changed.
    ReAudit,
    /// Who is at work, keys, enrolling.
    People,
    /// The register of signers, approved plant files, the ledger.
    Books,
    /// Say that a clock ran ahead when the review was entered.
    CorrectClock,
    /// Take the register of signers for the plant's although another one was seen before.
    AcceptRegister,
    /// The exception summary as a file: to print, for a spreadsheet, for a program.
    Summary,
    /// Temperatures in °F or °C.
    TemperatureUnit,
    /// Pressures in psi or kPa.
    PressureUnit,
    /// System, light or dark.
    Appearance,
    /// High contrast on or off.
    HighContrast,
    /// Show or hide the pane on the right.
    SidePane,
    /// Fold or unfold a plot.
    FoldPlot(PlotKind),
    /// Copy the message that is shown.
    CopyMessage,
    /// Dismiss the message that is shown.
    DismissMessage,
    /// Close the window.
    Quit,
}

/// Where a command stands in the menu.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// Files and days.
    Record,
    /// Going through exceptions.
    Find,
    /// Deciding and signing.
    Review,
    /// Time on the screen.
    View,
    /// How things are shown.
    Show,
}

impl Group {
    /// All groups, in order.
    pub const ALL: [Self; 5] = [Self::Record, Self::Find, Self::Review, Self::View, Self::Show];

    /// The heading in the menu.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Record => "Record",
            Self::Find => "Find",
            Self::Review => "Review",
            Self::View => "Time",
            Self::Show => "Show",
        }
    }
}

const CTRL: Modifiers = Modifiers::COMMAND;
const CTRL_SHIFT: Modifiers = Modifiers::COMMAND.plus(Modifiers::SHIFT);
const SHIFT: Modifiers = Modifiers::SHIFT;
const ALT: Modifiers = Modifiers::ALT;
const BARE: Modifiers = Modifiers::NONE;

impl Command {
    /// All commands, in the order of the menu.
    pub const ALL: [Self; 70] = [
        Self::OpenFiles,
        Self::OpenFolder,
        Self::OpenPlant,
        Self::OpenDemo,
        Self::OpenAgain,
        Self::Cancel,
        Self::NextDay,
        Self::PreviousDay,
        Self::ShowRegister,
        Self::OldestToReview,
        Self::NextMonth,
        Self::MonthBefore,
        Self::Register(RegisterPage::Calendar),
        Self::Register(RegisterPage::Trends),
        Self::Register(RegisterPage::Lot),
        Self::Register(RegisterPage::Range),
        Self::Quit,
        Self::WorstMinute,
        Self::NextException,
        Self::PreviousException,
        Self::ShowExceptions,
        Self::ShowObservations,
        Self::ShowProcess,
        Self::ShowRuns,
        Self::ShowInstruments,
        Self::ShowCompleteness,
        Self::Filter,
        Self::FoldEpisodes,
        Self::CommandList,
        Self::NextOpen,
        Self::Settlement,
        Self::Settle,
        Self::SendBack,
        Self::Acknowledge,
        Self::EnterNext,
        Self::TakeBack,
        Self::NextScope,
        Self::Sign,
        Self::Reopen,
        Self::ReAudit,
        Self::People,
        Self::Books,
        Self::CorrectClock,
        Self::AcceptRegister,
        Self::Summary,
        Self::WholeDay,
        Self::ShowShift,
        Self::ShowException,
        Self::FiveMinutes,
        Self::ZoomIn,
        Self::ZoomOut,
        Self::PanEarlier,
        Self::PanLater,
        Self::SampleEarlier,
        Self::SampleLater,
        Self::Measure,
        Self::ClearMeasure,
        Self::TemperatureUnit,
        Self::PressureUnit,
        Self::Appearance,
        Self::HighContrast,
        Self::SidePane,
        Self::FoldPlot(PlotKind::Holding),
        Self::FoldPlot(PlotKind::Differential),
        Self::FoldPlot(PlotKind::Pressures),
        Self::FoldPlot(PlotKind::Flow),
        Self::FoldPlot(PlotKind::Residence),
        Self::FoldPlot(PlotKind::Process),
        Self::CopyMessage,
        Self::DismissMessage,
    ];

    /// Where it stands in the menu.
    pub const fn group(self) -> Group {
        self.facts().0
    }

    /// The name in menu, tooltip and command list.
    pub const fn title(self) -> &'static str {
        self.facts().1
    }

    /// The key.
    pub const fn shortcut(self) -> KeyboardShortcut {
        let (_, _, modifiers, key) = self.facts();
        KeyboardShortcut::new(modifiers, key)
    }

    /// Whether holding the key repeats the command.
    pub const fn repeats(self) -> bool {
        matches!(
            self,
            Self::ZoomIn
                | Self::ZoomOut
                | Self::PanEarlier
                | Self::PanLater
                | Self::SampleEarlier
                | Self::SampleLater
                | Self::NextException
                | Self::PreviousException
                | Self::NextOpen
                | Self::NextMonth
                | Self::MonthBefore
        )
    }

    /// Whether it acts on the day that is open, so that it has nothing to act on in the register.
    pub const fn is_of_the_day(self) -> bool {
        match self.group() {
            Group::Find | Group::Review | Group::View => !matches!(self, Self::CommandList),
            Group::Record => matches!(self, Self::NextDay | Self::PreviousDay | Self::OpenPlant),
            Group::Show => false,
        }
    }

    const fn facts(self) -> (Group, &'static str, Modifiers, Key) {
        use Group::{Find, Record, Review, Show, View};
        match self {
            Self::OpenFiles => (Record, "Open files", CTRL, Key::O),
            Self::OpenFolder => (Record, "Open a folder of days", CTRL_SHIFT, Key::O),
            Self::OpenPlant => (Record, "Choose the plant file", CTRL, Key::P),
            Self::OpenDemo => (Record, "Open the demo", CTRL, Key::D),
            Self::OpenAgain => (Record, "Open the last one again", CTRL, Key::R),
            Self::Cancel => (Record, "Stop reading", CTRL, Key::Period),
            Self::NextDay => (Record, "Next day", BARE, Key::CloseBracket),
            Self::PreviousDay => (Record, "Day before", BARE, Key::OpenBracket),
            Self::ShowRegister => (Record, "Register of days", BARE, Key::Num0),
            Self::OldestToReview => (Record, "Oldest day to review", BARE, Key::J),
            Self::NextMonth => (Record, "Next month", BARE, Key::PageDown),
            Self::MonthBefore => (Record, "Month before", BARE, Key::PageUp),
            Self::Register(page) => match page {
                RegisterPage::Calendar => (Record, "Register: the month", CTRL, Key::Num1),
                RegisterPage::Trends => (Record, "Register: over the days", CTRL, Key::Num2),
                RegisterPage::Lot => (Record, "Register: trace a lot", CTRL, Key::Num3),
                RegisterPage::Range => (Record, "Register: summary of a range", CTRL, Key::Num4),
            },
            Self::Quit => (Record, "Close Holdtrace", CTRL, Key::Q),
            Self::WorstMinute => (Find, "Worst minute", BARE, Key::W),
            Self::NextException => (Find, "Next exception", BARE, Key::N),
            Self::PreviousException => (Find, "Exception before", BARE, Key::P),
            Self::ShowExceptions => (Find, "List exceptions", BARE, Key::L),
            Self::ShowObservations => (Find, "List observations", BARE, Key::O),
            Self::ShowProcess => (Find, "Process over the run", BARE, Key::Num1),
            Self::ShowRuns => (Find, "Runs and lots of the day", BARE, Key::Num2),
            Self::ShowInstruments => (Find, "Instrument checks", BARE, Key::Num3),
            Self::ShowCompleteness => (Find, "Required entries", BARE, Key::Num4),
            Self::Filter => (Find, "Filter the list", CTRL, Key::F),
            Self::FoldEpisodes => (Find, "Fold or unfold episodes", BARE, Key::G),
            Self::CommandList => (Find, "Commands", CTRL, Key::K),
            Self::NextOpen => (Review, "Next open exception", SHIFT, Key::N),
            Self::Settlement => (Review, "Go to the resolution", BARE, Key::T),
            Self::Settle => (Review, "Resolve, then next open", CTRL, Key::Enter),
            Self::SendBack => (Review, "Remark, to send back", BARE, Key::B),
            Self::Acknowledge => (Review, "Acknowledge observations", BARE, Key::A),
            Self::EnterNext => (Review, "Enter next missing entry", BARE, Key::I),
            Self::TakeBack => (Review, "Undo last decision", BARE, Key::U),
            Self::NextScope => (Review, "Next shift, or the whole day", SHIFT, Key::S),
            Self::Sign => (Review, "Sign", CTRL, Key::S),
            Self::Reopen => (Review, "Reopen what is signed", CTRL_SHIFT, Key::R),
            Self::ReAudit => (Review, "Enter the new audit", CTRL_SHIFT, Key::A),
            Self::People => (Review, "People and keys", CTRL, Key::U),
            Self::Books => (Review, "Register of signers and limits", CTRL_SHIFT, Key::U),
            Self::CorrectClock => (Review, "Correct a clock that ran ahead", CTRL_SHIFT, Key::K),
            Self::AcceptRegister => (Review, "Accept a register of signers", CTRL_SHIFT, Key::T),
            Self::Summary => (Review, "Exception summary: PDF, CSV, JSON", CTRL, Key::E),
            Self::WholeDay => (View, "Whole day", BARE, Key::D),
            Self::ShowShift => (View, "Shift", BARE, Key::S),
            Self::ShowException => (View, "Exception", BARE, Key::E),
            Self::FiveMinutes => (View, "\u{b1}5 min", BARE, Key::F),
            Self::ZoomIn => (View, "Zoom in", BARE, Key::Plus),
            Self::ZoomOut => (View, "Zoom out", BARE, Key::Minus),
            Self::PanEarlier => (View, "Earlier", SHIFT, Key::ArrowLeft),
            Self::PanLater => (View, "Later", SHIFT, Key::ArrowRight),
            Self::SampleEarlier => (View, "Crosshair one sample earlier", BARE, Key::Comma),
            Self::SampleLater => (View, "Crosshair one sample later", BARE, Key::Period),
            Self::Measure => (View, "Measure from here, to here", BARE, Key::M),
            Self::ClearMeasure => (View, "Remove the measured span", SHIFT, Key::M),
            Self::TemperatureUnit => (Show, "Temperatures in \u{b0}F or \u{b0}C", SHIFT, Key::T),
            Self::PressureUnit => (Show, "Pressures in psi or kPa", SHIFT, Key::P),
            Self::Appearance => (Show, "System, light or dark", SHIFT, Key::L),
            Self::HighContrast => (Show, "High contrast", SHIFT, Key::H),
            Self::SidePane => (Show, "Pane on the right", BARE, Key::R),
            Self::FoldPlot(plot) => match plot {
                PlotKind::Holding => (Show, "Fold plot: holding tube", ALT, Key::Num1),
                PlotKind::Differential => (Show, "Fold plot: differential", ALT, Key::Num2),
                PlotKind::Pressures => (Show, "Fold plot: regenerator", ALT, Key::Num3),
                PlotKind::Flow => (Show, "Fold plot: flow", ALT, Key::Num4),
                PlotKind::Residence => (Show, "Fold plot: holding time", ALT, Key::Num5),
                PlotKind::Process => (Show, "Fold plot: process", ALT, Key::Num6),
            },
            Self::CopyMessage => (Show, "Copy the message", CTRL_SHIFT, Key::C),
            Self::DismissMessage => (Show, "Dismiss the message", BARE, Key::Escape),
        }
    }

    /// The key as it is printed, such as `Ctrl+O`.
    pub fn key_text(self, context: &egui::Context) -> String {
        let shortcut = self.shortcut();
        let name = shortcut.logical_key.name();
        let sign = match shortcut.logical_key {
            Key::OpenBracket => "[",
            Key::CloseBracket => "]",
            Key::Plus => "+",
            Key::Minus => "\u{2212}",
            Key::Comma => "comma",
            Key::Period => "full stop",
            Key::ArrowLeft => "\u{2190}",
            Key::ArrowRight => "\u{2192}",
            Key::Escape => "Esc",
            Key::PageDown => "Page down",
            Key::PageUp => "Page up",
            _ => name,
        };
        let text = context.format_shortcut(&shortcut);
        match text.strip_suffix(name) {
            Some(modifiers) => format!("{modifiers}{sign}"),
            None => text,
        }
    }

    /// Takes the commands whose keys were pressed out of the input. Keys without Ctrl belong to
    /// the text field while one has the focus.
    pub fn pressed(context: &egui::Context) -> Vec<Self> {
        let typing = context.text_edit_focused();
        context.input_mut(|input| {
            let mut pressed = Vec::new();
            input.events.retain(|event| {
                let egui::Event::Key { key, modifiers, pressed: true, repeat, .. } = event else {
                    return true;
                };
                // Plus is Shift+= on many keyboards, and the layout decides about the Shift.
                let key = if *key == Key::Equals { Key::Plus } else { *key };
                let found = Self::ALL.into_iter().find(|command| {
                    let shortcut = command.shortcut();
                    let matches = if key == Key::Plus {
                        !modifiers.command && !modifiers.alt
                    } else {
                        modifiers.matches_exact(shortcut.modifiers)
                    };
                    shortcut.logical_key == key
                        && matches
                        && (!typing || shortcut.modifiers.command || shortcut.modifiers.alt)
                        && (!repeat || command.repeats())
                });
                pressed.extend(found);
                found.is_none()
            });
            pressed
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_command_is_listed_once_and_no_key_twice() {
        for (index, command) in Command::ALL.into_iter().enumerate() {
            for other in &Command::ALL[index + 1..] {
                assert_ne!(command, *other);
                assert_ne!(command.shortcut(), other.shortcut(), "{command:?} and {other:?}");
                assert_ne!(command.title(), other.title());
            }
        }
    }
}
