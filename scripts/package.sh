#!/bin/sh
# A package for Debian and Ubuntu: program, menu entry, icon, association with the files that it reads,
# licences. `sh scripts/package.sh` builds the program to hand on (scripts/release.sh) and packs it into
# target/release; `sh scripts/package.sh PROGRAM FOLDER` packs a program that is there already, whose
# symbols are left out. PACKAGE_COMPRESSION (xz) is what dpkg-deb packs with. Prints the package's path.
set -eu
cd "$(dirname "$0")/.."

if [ $# -eq 0 ]; then
    sh scripts/release.sh >&2
    folder="${CARGO_TARGET_DIR:-target}/release"
    program="$folder/holdtrace"
else
    program=$1
    folder=${2:?a folder for the package}
fi
version=$(sed -n 's/^version = "\(.*\)"$/\1/p' Cargo.toml | head -n 1)
machine=$(dpkg --print-architecture)
package="$folder/holdtrace_${version}_$machine.deb"

root=$(mktemp -d)
trap 'rm -rf "$root"' EXIT
put() {
    install -D -m "$1" "$2" "$root/$3"
}
install -d -m 755 "$root/usr/bin" "$root/DEBIAN"
strip -o "$root/usr/bin/holdtrace" "$program"
chmod 755 "$root" "$root/usr/bin/holdtrace"
put 644 assets/holdtrace.desktop usr/share/applications/holdtrace.desktop
put 644 assets/icon-256.png usr/share/icons/hicolor/256x256/apps/holdtrace.png
put 644 assets/icon.svg usr/share/icons/hicolor/scalable/apps/holdtrace.svg
for page in README.md CHANGELOG.md LICENSE-MIT LICENSE-APACHE docs/user-guide.md docs/method.md docs/review.md \
    docs/file-formats.md; do
    put 644 "$page" "usr/share/doc/holdtrace/$(basename "$page")"
done
licences="$root/usr/share/doc/holdtrace/THIRD-PARTY-LICENCES.txt"
python3 scripts/third-party-licences.py "$licences" >&2
chmod 644 "$licences"
put 644 LICENSE-MIT usr/share/doc/holdtrace/copyright

# The window draws with Vulkan or OpenGL; where there is no graphics card, the first of the recommended
# packages draws without one.
cat >"$root/DEBIAN/control" <<CONTROL
Package: holdtrace
Version: $version
Architecture: $machine
Maintainer: the contributors of Holdtrace <noreply@example.org>
Section: science
Priority: optional
Installed-Size: $(du -sk "$root/usr" | cut -f 1)
Depends: libc6, libgcc-s1
Recommends: mesa-vulkan-drivers | libegl1, libvulkan1, libxkbcommon0, libxkbcommon-x11-0, libwayland-client0, libx11-6, libxcursor1, libxi6, libxrandr2
Description: review of an HTST pasteurizer's daily run records
 Reads the day's sensor traces, lists the intervals in which they do not show that
 forward flow was safe, takes cause, action and product disposition for each, lets
 the supervisor sign, and gives an auditor a record that can be checked.
 .
 A review aid, not a legal recorder or controller. Limits must be confirmed with
 the plant's authority; local codes and licensed people decide.
CONTROL
dpkg-deb --root-owner-group -Z"${PACKAGE_COMPRESSION:-xz}" --build "$root" "$package" >&2
echo "$package"
