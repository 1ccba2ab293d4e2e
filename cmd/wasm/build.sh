#!/usr/bin/env bash
# Builds the program for the device into internal/web/device, packed; the same sources and the same Go give the same bytes.
# With --check it changes nothing and fails where what is committed is not what the sources give.
set -euo pipefail
cd "$(dirname "$0")/../.."
into=internal/web/device
fresh=$(mktemp -d)
trap 'rm -rf "$fresh"' EXIT
GOOS=js GOARCH=wasm CGO_ENABLED=0 go build -trimpath -buildvcs=false -ldflags='-s -w -buildid=' -o "$fresh/threshday.wasm" ./cmd/wasm
cp "$(go env GOROOT)/lib/wasm/wasm_exec.js" "$fresh/"
if [ "${1:-}" = --check ]; then
  zcat "$into/threshday.wasm.gz" | cmp - "$fresh/threshday.wasm" && cmp "$into/wasm_exec.js" "$fresh/wasm_exec.js" && exit
  echo "$into is not what the sources give: run cmd/wasm/build.sh and commit it" >&2
  exit 1
fi
gzip -9 -n "$fresh/threshday.wasm"
mv "$fresh/threshday.wasm.gz" "$fresh/wasm_exec.js" "$into/"
ls -l "$into" | awk 'NR > 1 {printf "%s %.2f MB\n", $9, $5 / 1e6}'
