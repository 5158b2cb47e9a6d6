#!/bin/sh
# Rebuild the drawing library of the pages from the exact versions in package-lock.json.
# Needs npm and a network; the result is committed, so running stillset needs neither.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
target=$here/../../service/stillset_service/pages/static/vendor
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp "$here/package.json" "$here/package-lock.json" "$here/charts_entry.js" "$here/notices.mjs" "$work/"
cd "$work"
npm ci --no-audit --no-fund --silent
npx esbuild charts_entry.js --bundle --format=esm --minify --target=es2020 --legal-comments=none \
    --metafile=meta.json --outfile=charts-vendor.js --log-level=warning
node notices.mjs meta.json > charts-vendor.NOTICES.txt
mkdir -p "$target"
cp charts-vendor.js charts-vendor.NOTICES.txt "$target/"
cd "$target"
sha256sum charts-vendor.js charts-vendor.NOTICES.txt > SHA256SUMS
