//! Files in folders that others can write to. A folder of records lies on a share: whoever can
//! write there can lay a link, a pipe or a lock where this program expects a file of its own. So
//! every file is opened, written and locked through here: no link is followed that the user did
//! not name, what is no file is refused without opening it, nothing is waited for without end, and
//! a file is replaced as a whole or not at all.
//!
//! Only the last name of a path is looked at: the folders on the way to it are the user's choice.

mod clock;
mod kind;
mod lock;
mod open;
mod output;
mod refusal;
mod sweep;
mod whole;

pub use clock::folder_clock;
pub use kind::{Kind, kind};
pub use lock::{Lock, LockError, PATIENCE, STALE, TryLock, lock_path};
pub use open::{Links, append, create_new, open, read, read_open, read_write};
pub use output::{not_written, write_output};
pub use refusal::{Refusal, told};
pub use sweep::is_left_over;
pub use whole::{Access, Whole, WholeFolder, sync_folder, write_new, write_whole};
