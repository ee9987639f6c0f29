#!/usr/bin/env bash
# Fetches axe-core, which checks pages for what keeps people out, into the user's cache, where the tests of pages look for it. Where it cannot
# be had, it says so, and those tests are skipped.
set -euo pipefail

version=4.10.2
case $(uname -s) in
Darwin) cache=$HOME/Library/Caches ;;
*) cache=${XDG_CACHE_HOME:-$HOME/.cache} ;;
esac
file=$cache/larkhand-test/axe-core-$version.min.js
[ ! -s "$file" ] || exit 0

skip() { echo "axe: $*; the tests of pages skip it"; exit 0; }
command -v npm >/dev/null || skip "there is no npm to fetch axe-core with"
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
(cd "$folder" && timeout 120 npm pack --silent "axe-core@$version" >/dev/null && tar -xzf "axe-core-$version.tgz" package/axe.min.js) ||
    skip "axe-core $version could not be fetched"
mkdir -p "$(dirname "$file")"
cp "$folder/package/axe.min.js" "$file.new"
mv "$file.new" "$file"
echo "axe: fetched axe-core $version into $(dirname "$file")"
