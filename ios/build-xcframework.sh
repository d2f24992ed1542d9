#!/usr/bin/env bash
# The core for devices, simulators and this Mac, as the package ChalkfaceKit wants it:
# ChalkfaceKit/Generated/ChalkfaceFFI.xcframework. Needs a Mac with Xcode and rustup.
# Not run yet: it is written on a machine that is none.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
[ "$(uname -s)" = Darwin ] || { echo 'build-xcframework.sh: this takes a Mac with Xcode' >&2; exit 1; }
export IPHONEOS_DEPLOYMENT_TARGET=17.0 MACOSX_DEPLOYMENT_TARGET=14.0
targets=(aarch64-apple-ios aarch64-apple-ios-sim x86_64-apple-ios aarch64-apple-darwin)
rustup target add "${targets[@]}"
for target in "${targets[@]}"; do
  cargo build --profile phone -p chalkface-bindings --target "$target"
done
# Bindings are the same for all of them.
ios/generate
into=ios/ChalkfaceKit/Generated
simulator=$(mktemp -d)
trap 'rm -rf "$simulator"' EXIT
lipo -create target/{aarch64-apple-ios-sim,x86_64-apple-ios}/phone/libchalkface.a -output "$simulator/libchalkface.a"
rm -rf "$into/ChalkfaceFFI.xcframework"
xcodebuild -create-xcframework \
  -library target/aarch64-apple-ios/phone/libchalkface.a -headers "$into/ChalkfaceFFI/include" \
  -library "$simulator/libchalkface.a" -headers "$into/ChalkfaceFFI/include" \
  -library target/aarch64-apple-darwin/phone/libchalkface.a -headers "$into/ChalkfaceFFI/include" \
  -output "$into/ChalkfaceFFI.xcframework"
