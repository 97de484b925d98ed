//! While a secret is in memory, no other program of the same user may look into this one: no core
//! dump is written, and no debugger attaches (Linux; other systems are left as they are).
//!
//! This is undone with the last secret, because a process that nobody may look into is one to which
//! a desktop gives no file dialogs. It stops neither the system's administrator nor a program that
//! was attached before.

/// Keeps this process shut from its making to its end.
#[derive(Debug)]
pub struct Shut(());

impl Shut {
    /// Shuts the process. Where the system refuses, it stays as it was: a signature is worth more.
    #[expect(clippy::new_without_default, reason = "it acts; a default value would hide that")]
    pub fn new() -> Self {
        system::shut();
        Self(())
    }
}

impl Drop for Shut {
    fn drop(&mut self) {
        system::open();
    }
}

#[cfg(target_os = "linux")]
mod system {
    use rustix::process::{
        DumpableBehavior, Resource, Rlimit, dumpable_behavior, getrlimit, set_dumpable_behavior,
        setrlimit,
    };
    use std::sync::{Mutex, MutexGuard, PoisonError};

    struct State {
        holders: usize,
        /// Whether it was open before the first of them.
        was_open: bool,
    }

    static STATE: Mutex<State> = Mutex::new(State { holders: 0, was_open: false });

    fn state() -> MutexGuard<'static, State> {
        STATE.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub(super) fn shut() {
        let mut state = state();
        if state.holders == 0 {
            // The limit stays: nobody misses a core dump of this program.
            let core = Rlimit { current: Some(0), ..getrlimit(Resource::Core) };
            let _refused = setrlimit(Resource::Core, core).is_err();
            state.was_open = dumpable_behavior() == Ok(DumpableBehavior::Dumpable);
            let _refused = set_dumpable_behavior(DumpableBehavior::NotDumpable).is_err();
        }
        state.holders += 1;
    }

    pub(super) fn open() {
        let mut state = state();
        state.holders = state.holders.saturating_sub(1);
        if state.holders == 0 && state.was_open {
            let _refused = set_dumpable_behavior(DumpableBehavior::Dumpable).is_err();
        }
    }
}

#[cfg(not(target_os = "linux"))]
mod system {
    pub(super) const fn shut() {}
    pub(super) const fn open() {}
}

#[cfg(test)]
mod tests {
    #[cfg(target_os = "linux")]
    #[test]
    fn a_passphrase_in_memory_shuts_the_process() {
        use rustix::process::{DumpableBehavior, Resource, dumpable_behavior, getrlimit};

        let passphrase = crate::Passphrase::new("correct horse battery".to_owned());
        let other = super::Shut::new();
        drop(other);
        assert_eq!(dumpable_behavior(), Ok(DumpableBehavior::NotDumpable));
        assert_eq!(getrlimit(Resource::Core).current, Some(0));
        drop(passphrase);
    }
}
