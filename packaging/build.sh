#!/usr/bin/env bash
# Builds the packages for people without a compiler, with checksums and bills of materials, for the system that it runs
# on: packaging/build.sh [FOLDER]
#   Linux    a .deb and a .tar.gz, each with the window and without (the .deb where cargo-deb is installed)
#   Windows  a .zip, in the shell that comes with Git
#   macOS    a .tar.gz with the application's bundle
# CARGO_BUILD_TARGET names another target of the same system. IDLEWRIGHT_COMMIT, if set, is told by `--version`.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
say() { printf '\n== %s\n' "$*"; }

mkdir -p "${1:-target/packages}"
packages="$(cd "${1:-target/packages}" && pwd)"
triple="${CARGO_BUILD_TARGET:-$(rustc -vV | sed -n 's/^host: //p')}"
built="${CARGO_TARGET_DIR:-target}/${CARGO_BUILD_TARGET:+$CARGO_BUILD_TARGET/}release"
version="$(sed -n 's/^version = "\(.*\)"$/\1/p' Cargo.toml | head -n 1)"
case "$triple" in
    *-linux-*) system=linux exe='' ;;
    *-windows-*) system=windows exe=.exe ;;
    *-apple-darwin) system=macos exe='' ;;
    *) printf 'packaging: no package for %s\n' "$triple" >&2; exit 2 ;;
esac
ending="$version-${triple%%-*}-$system"
export CARGO_INCREMENTAL="${CARGO_INCREMENTAL:-0}"

stage="$built/packaging"
rm -rf "$stage"
mkdir -p "$stage"

say "programs"
# with whatever else `cargo build` makes, so that libraries that are built already serve once more
cargo build --release --locked
# last, since the build above may make it too, with more in it than a server needs
cargo build --release --locked -p idlewright --no-default-features --features class

say "manual pages, completions, licences, bills of materials"
cargo run --release --locked -p idlewright --no-default-features --features class --example packaging -- "$stage" "$triple"

# Programs without the names of their functions, which nobody needs who has no source.
program() {
    mkdir -p "$2"
    cp "$built/$1$exe" "$2/"
    case "$system" in
        linux) strip "$2/$1" ;;
        macos) strip -x "$2/$1" && codesign --force --sign - "$2/$1" ;;
    esac
}

# What there is to read: documents as they stand here, so that their links hold, and licences.
documents() {
    mkdir -p "$1/docs" "$1/fonts"
    cp README.md DEVELOPERS.md LICENSE "$1/"
    cp docs/*.md docs/*.png docs/*.svg docs/*.toml "$1/docs/"
    cp -R docs/example-lesson "$1/docs/"
    cp assets/fonts/OFL-*.txt "$1/fonts/"
}

for name in idlewright idlewright-headless; do
    share="$stage/$name/share"
    documents "$share/doc/$name"
    mv "$stage/$name/$name.cdx.json" "$packages/$name-$ending.cdx.json"
    [[ "$name" == idlewright ]] || continue
    mkdir -p "$share/applications" "$share/icons/hicolor/scalable/apps"
    cp packaging/idlewright.desktop "$share/applications/"
    cp packaging/idlewright.svg "$share/icons/hicolor/scalable/apps/"
    for icon in packaging/icons/*.png; do
        size="$(basename "$icon" .png)"
        mkdir -p "$share/icons/hicolor/${size}x$size/apps"
        cp "$icon" "$share/icons/hicolor/${size}x$size/apps/idlewright.png"
    done
done

say "archives"
# Files in an archive have the date of the last commit. Only from here on: libraries in C would be built anew for another date.
SOURCE_DATE_EPOCH="${SOURCE_DATE_EPOCH:-$(git log -1 --format=%ct 2>/dev/null || date +%s)}"
export SOURCE_DATE_EPOCH
archive() { # FOLDER: all that lies in it, always in the same order and with the same dates
    (cd "$stage/archive" && find "$1" -type f -print0 | LC_ALL=C sort -z \
        | tar --null --files-from=- --owner=0 --group=0 --numeric-owner --mtime="@$SOURCE_DATE_EPOCH" -cf - \
        | gzip -n9) >"$packages/$1.tar.gz"
}
case "$system" in
    linux)
        for name in idlewright idlewright-headless; do
            folder="$stage/archive/$name-$ending"
            mkdir -p "$folder"
            cp -R "$stage/$name/share" "$folder/"
            # shells outside of a distribution's packages look elsewhere
            mv "$folder/share/zsh/vendor-completions" "$folder/share/zsh/site-functions"
            program "$name" "$folder/bin"
            [[ "$name" != idlewright ]] || program idlewright-window "$folder/bin"
            archive "$name-$ending"
        done
        if cargo deb --version >/dev/null 2>&1; then
            # Debian packs manual pages compressed
            gzip -9nf "$stage"/*/share/man/man1/*.1
            for package in idlewright-window idlewright; do
                cargo deb --no-build --locked --quiet -p "$package" ${CARGO_BUILD_TARGET:+--target "$CARGO_BUILD_TARGET"} \
                    --output "$packages/"
            done
        else
            printf 'packaging: no .deb without cargo-deb (cargo install cargo-deb --locked)\n' >&2
        fi
        ;;
    windows)
        folder="$stage/archive/idlewright-$ending"
        documents "$folder"
        cp "$stage/idlewright/share/doc/idlewright/third-party.txt" "$folder/"
        for name in idlewright idlewright-window idlewright-headless; do program "$name" "$folder"; done
        (cd "$stage/archive" && 7z a -tzip -mx=9 "$packages/idlewright-$ending.zip" "idlewright-$ending" >/dev/null)
        ;;
    macos)
        folder="$stage/archive/idlewright-$ending"
        documents "$folder"
        cp "$stage/idlewright/share/doc/idlewright/third-party.txt" "$folder/"
        cp -R "$stage/idlewright/share/man" "$folder/"
        program idlewright-headless "$folder"
        bundle="$folder/Idlewright.app/Contents"
        program idlewright "$bundle/MacOS"
        mkdir -p "$bundle/Resources" "$stage/idlewright.iconset"
        sed "s/@VERSION@/$version/g" packaging/Info.plist >"$bundle/Info.plist"
        for size in 16 32 128 256 512; do cp "packaging/icons/$size.png" "$stage/idlewright.iconset/icon_${size}x$size.png"; done
        for size in 16 32 128 256; do
            cp "packaging/icons/$((2 * size)).png" "$stage/idlewright.iconset/icon_${size}x$size@2x.png"
        done
        iconutil -c icns "$stage/idlewright.iconset" -o "$bundle/Resources/idlewright.icns"
        # not signed by anybody: so that the bundle is at least whole
        codesign --force --deep --sign - "$folder/Idlewright.app"
        tar -C "$stage/archive" -czf "$packages/idlewright-$ending.tar.gz" "idlewright-$ending"
        ;;
esac

say "checksums"
cd "$packages"
sums="SHA256SUMS-$ending"
rm -f "$sums"
sum() { if command -v sha256sum >/dev/null; then sha256sum "$@"; else shasum -a 256 "$@"; fi; }
for file in *; do
    case "$file" in SHA256SUMS*) ;; *) sum "$file" ;; esac
done >".$sums"
mv ".$sums" "$sums"
cat "$sums"
