//! Work on secrets that leaves nothing of them on the stack.
//!
//! What is held on the heap is wiped by its owner when it is dropped. But values are also moved and
//! worked on in the frames of functions, of other crates too, which nobody wipes. So such work is
//! done below a frame, and the stack below that frame is overwritten afterwards.

use zeroize::Zeroize as _;

/// How deep the stack is overwritten. The deepest work here, scrypt and Ed25519, takes less than a
/// quarter of it (ours); a thread has 2 MiB or more.
const DEPTH: usize = 128 * 1024;

/// Does `work`, then overwrites the stack that it may have used. What it gives must hold its secrets
/// on the heap.
#[inline(never)]
pub(crate) fn wiped<T>(work: impl FnOnce() -> T) -> T {
    let done = below(work);
    overwrite();
    done
}

#[inline(never)]
fn below<T>(work: impl FnOnce() -> T) -> T {
    work()
}

#[inline(never)]
#[expect(clippy::large_stack_arrays, reason = "the stack is what is overwritten")]
fn overwrite() {
    let mut below = [0_u8; DEPTH];
    below.zeroize();
    std::hint::black_box(&below);
}
