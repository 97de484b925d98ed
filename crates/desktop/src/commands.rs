//! Every command of the program once, in the order of the menu: where it stands there, where it
//! applies, its key, and the name that menu, tooltips and the searchable list show.

use egui::{Key, KeyboardShortcut, Modifiers};

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

/// What a command acts on; where that is not on the screen the command does nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Whatever is on the screen.
    Anywhere,
    /// The folder that is open.
    Folder,
    /// The day that is open.
    Day,
    /// The review of the day that is open.
    Review,
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

/// A line of the table.
struct Row {
    group: Group,
    place: Place,
    shortcut: KeyboardShortcut,
    repeats: bool,
    title: &'static str,
}

/// The enum of the commands and what is known of each, from the table below.
macro_rules! commands {
    ($($name:ident: $group:ident, $place:ident, $modifiers:ident $key:ident $($repeats:ident)?, $title:literal;)+) => {
        /// A command.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Command {
            $(#[doc = concat!($title, ".")] $name,)+
        }

        impl Command {
            /// All commands, in the order of the menu.
            pub const ALL: [Self; [$($title),+].len()] = [$(Self::$name),+];

            /// Its line in the table.
            const fn row(self) -> Row {
                match self {
                    $(Self::$name => Row {
                        group: Group::$group,
                        place: Place::$place,
                        shortcut: KeyboardShortcut::new($modifiers, Key::$key),
                        repeats: !stringify!($($repeats)?).is_empty(),
                        title: $title,
                    },)+
                }
            }
        }
    };
}

commands! {
    OpenFiles: Record, Anywhere, CTRL O, "Open files";
    OpenFolder: Record, Anywhere, CTRL_SHIFT O, "Open a folder of days";
    OpenPlant: Record, Anywhere, CTRL P, "Choose the plant file";
    SetUp: Record, Anywhere, CTRL_SHIFT P, "Set up the reading of these files";
    PlantFile: Record, Anywhere, CTRL Comma, "Show and change the plant file";
    SaveSetup: Record, Anywhere, CTRL_SHIFT S, "Save the plant file";
    LeavePlantFile: Record, Anywhere, CTRL W, "Close the plant file";
    OpenDemo: Record, Anywhere, CTRL D, "Open the demo";
    OpenAgain: Record, Anywhere, CTRL R, "Open the last one again";
    Cancel: Record, Anywhere, CTRL Period, "Stop reading";
    NextDay: Record, Anywhere, BARE CloseBracket, "Next day";
    PreviousDay: Record, Anywhere, BARE OpenBracket, "Day before";
    ShowRegister: Record, Folder, BARE Num0, "Register of days";
    NextOnList: Record, Folder, BARE J, "Next on the work list";
    NextMonth: Record, Folder, BARE PageDown repeats, "Next month";
    MonthBefore: Record, Folder, BARE PageUp repeats, "Month before";
    RegisterMonth: Record, Folder, CTRL Num1, "Register: the month";
    RegisterTrends: Record, Folder, CTRL Num2, "Register: over the days";
    RegisterLot: Record, Folder, CTRL Num3, "Register: trace a lot";
    RegisterRange: Record, Folder, CTRL Num4, "Register: summary of a range";
    RegisterHeld: Record, Folder, CTRL Num5, "Register: on hold";
    RegisterWork: Record, Folder, CTRL Num6, "Register: work list";
    Quit: Record, Anywhere, CTRL Q, "Close Holdtrace";
    WorstMinute: Find, Day, BARE W, "Worst minute";
    NextException: Find, Day, BARE N repeats, "Next exception";
    PreviousException: Find, Day, BARE P repeats, "Exception before";
    ShowExceptions: Find, Day, BARE L, "List exceptions";
    ShowObservations: Find, Day, BARE O, "List observations";
    ShowProcess: Find, Day, BARE Num1, "Process over the run";
    ShowRuns: Find, Day, BARE Num2, "Runs and lots of the day";
    ShowInstruments: Find, Day, BARE Num3, "Instrument checks";
    ShowCompleteness: Find, Day, BARE Num4, "Required entries";
    ShowDiverts: Find, Day, BARE Num5, "Diverts with their causes";
    ShowCleanings: Find, Day, BARE Num6, "Cleanings of the day";
    Filter: Find, Day, CTRL F, "Filter the list";
    FoldEpisodes: Find, Day, BARE G, "Fold or unfold episodes";
    CommandList: Find, Anywhere, CTRL K, "Commands";
    NextOpen: Review, Review, SHIFT N repeats, "Next open exception";
    Settlement: Review, Review, BARE T, "Go to the resolution";
    Settle: Review, Review, CTRL Enter, "Resolve, then next open";
    SettleAsBefore: Review, Review, CTRL B, "Resolve as the one before";
    PickAll: Review, Review, CTRL A, "Choose all exceptions of the list";
    SendBack: Review, Review, BARE B, "Remark, to send back";
    Acknowledge: Review, Review, CTRL_SHIFT Enter, "Acknowledge observations";
    EnterNext: Review, Review, BARE I, "Enter next missing entry";
    OperatorEntry: Review, Review, CTRL_SHIFT I, "Operators\u{2019} entries: add, sign";
    TakeBack: Review, Review, CTRL Z, "Undo last decision";
    NextScope: Review, Review, SHIFT S, "Next shift, or the whole day";
    Sign: Review, Review, CTRL S, "Sign";
    Reopen: Review, Review, CTRL_SHIFT R, "Reopen what is signed";
    ReAudit: Review, Review, CTRL_SHIFT A, "Enter the new audit";
    People: Review, Review, CTRL U, "People and keys";
    Books: Review, Review, CTRL_SHIFT U, "Register of signers and limits";
    CorrectClock: Review, Review, CTRL_SHIFT K, "Correct a clock that ran ahead";
    AcceptRegister: Review, Review, CTRL_SHIFT T, "Accept a register of signers";
    Summary: Review, Review, CTRL E, "Exception summary: PDF, CSV, JSON";
    WholeDay: View, Day, BARE D, "Whole day";
    ShowShift: View, Day, BARE S, "Shift";
    ShowException: View, Day, BARE E, "Exception";
    FiveMinutes: View, Day, BARE F, "\u{b1}5 min";
    ZoomIn: View, Day, BARE Plus repeats, "Zoom in";
    ZoomOut: View, Day, BARE Minus repeats, "Zoom out";
    PanEarlier: View, Day, SHIFT ArrowLeft repeats, "Earlier";
    PanLater: View, Day, SHIFT ArrowRight repeats, "Later";
    SampleEarlier: View, Day, BARE Comma repeats, "Crosshair one sample earlier";
    SampleLater: View, Day, BARE Period repeats, "Crosshair one sample later";
    Measure: View, Day, BARE M, "Measure from here, to here";
    ClearMeasure: View, Day, SHIFT M, "Remove the measured span";
    TemperatureUnit: Show, Anywhere, ALT T, "Temperatures in \u{b0}F or \u{b0}C";
    PressureUnit: Show, Anywhere, ALT P, "Pressures in psi or kPa";
    Appearance: Show, Anywhere, ALT L, "System, light or dark";
    HighContrast: Show, Anywhere, ALT H, "High contrast";
    SidePane: Show, Anywhere, BARE R, "Pane on the right";
    TallList: Show, Day, SHIFT L, "Hide or show the plots above the list";
    FoldHolding: Show, Day, ALT Num1, "Fold plot: holding tube";
    FoldDifferential: Show, Day, ALT Num2, "Fold plot: differential";
    FoldPressures: Show, Day, ALT Num3, "Fold plot: regenerator";
    FoldFlow: Show, Day, ALT Num4, "Fold plot: flow";
    FoldResidence: Show, Day, ALT Num5, "Fold plot: holding time";
    FoldProcess: Show, Day, ALT Num6, "Fold plot: process";
    CopyMessage: Show, Anywhere, CTRL_SHIFT C, "Copy the message";
    DismissMessage: Show, Anywhere, BARE Escape, "Dismiss the message";
}

impl Command {
    /// Where it stands in the menu.
    pub const fn group(self) -> Group {
        self.row().group
    }

    /// What it acts on.
    pub const fn place(self) -> Place {
        self.row().place
    }

    /// The name in menu, tooltip and command list.
    pub const fn title(self) -> &'static str {
        self.row().title
    }

    /// The key.
    const fn shortcut(self) -> KeyboardShortcut {
        self.row().shortcut
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

    /// Whether its key is taken while a text is typed: one without Ctrl or Alt is part of the text, and a
    /// field has an undoing and a choosing of all of its own.
    const fn is_taken_from_fields(self) -> bool {
        let modifiers = self.shortcut().modifiers;
        (modifiers.command || modifiers.alt) && !matches!(self, Self::TakeBack | Self::PickAll)
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
                        && (!typing || command.is_taken_from_fields())
                        && (!repeat || command.row().repeats)
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

    /// What enters something in a journal, or is kept for good, is no letter that may be typed beside a
    /// field.
    #[test]
    fn no_plain_letter_writes() {
        let writes = [
            Command::Settle,
            Command::SettleAsBefore,
            Command::Acknowledge,
            Command::TakeBack,
            Command::Sign,
            Command::Reopen,
            Command::ReAudit,
            Command::CorrectClock,
            Command::SaveSetup,
            Command::TemperatureUnit,
            Command::PressureUnit,
            Command::Appearance,
            Command::HighContrast,
        ];
        for command in writes {
            let modifiers = command.shortcut().modifiers;
            assert!(modifiers.command || modifiers.alt, "{command:?}");
        }
    }

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
