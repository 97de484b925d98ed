#!/bin/sh
# Installs what the tests need on Debian and Ubuntu: a software Vulkan driver and a virtual display
# with a keyboard for the window, Python for the second opinion, OpenSSL for keys and signatures, two readers of PDF for
# the summary, and valgrind, which counts instructions. Elsewhere it does nothing; the systems bring the like with them. Run by
# scripts/test.sh.
set -eu

packages="build-essential pkg-config xvfb x11-utils xdotool mesa-vulkan-drivers libvulkan1 libegl1 \
libgl1-mesa-dri libxkbcommon0 libxkbcommon-x11-0 libwayland-client0 libx11-6 libxcursor1 libxi6 \
libxrandr2 python3 python3-venv openssl poppler-utils qpdf valgrind"

command -v dpkg-query >/dev/null 2>&1 || exit 0

missing=""
for package in $packages; do
    state=$(dpkg-query -W -f='${Status}' "$package" 2>/dev/null || true)
    [ "$state" = "install ok installed" ] || missing="$missing $package"
done
[ -n "$missing" ] || exit 0

echo "installing:$missing"
if [ "$(id -u)" -eq 0 ]; then
    become=""
else
    become="sudo"
fi
export DEBIAN_FRONTEND=noninteractive
$become apt-get update -qq
# shellcheck disable=SC2086 # the lists are words on purpose
$become apt-get install -y -qq --no-install-recommends $missing >/dev/null
