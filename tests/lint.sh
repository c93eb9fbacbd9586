#!/usr/bin/env bash
# SPDX-License-Identifier: GPL-3.0-or-later
# What a reader of the code is promised, checked by tools: the format of every file, the root's .clang-tidy over lib and tools (names, complexity, length
# of functions and the usual traps), and a sentence for every public entity (Doxygen). Needs the compile commands of build/.
#   tests/lint.sh [--plain | --quick] [part of a path]    only files whose path holds it; --plain: without clang-tidy, which is what CI
#                                                         has room for; --quick: of it only length, complexity, names and braces, in half the time
set -euo pipefail
cd "$(dirname "$0")/.."
tools/dev/install.sh lint
checks=()
plain=
if [ "${1:-}" = --plain ]; then
  plain=yes
  shift
elif [ "${1:-}" = --quick ]; then
  checks=("--checks=-*,readability-function-size,readability-function-cognitive-complexity,readability-identifier-naming,readability-braces-around-statements")
  shift
fi
part=${1:-}
faults=0

# Files of our own by their endings; not what npm fetched.
sources() {
  find "${@:2}" -name node_modules -prune -o -regex ".*\\.\($1\)" -print | sort
}

echo "Format ..."
sources 'cpp\|h' lib tools tests | { grep -F -- "$part" || true; } | xargs -r clang-format --dry-run --Werror || faults=1

echo "Public headers ..."
mkdir -p build/doxygen
# Warnings are all that is wanted; every file of ours that is installed.
warnings=$({ cat <<'CONFIG'
INPUT = lib/cavigram
FILE_PATTERNS = *.h
EXCLUDE_PATTERNS = *_detail.h
RECURSIVE = YES
GENERATE_HTML = NO
GENERATE_LATEX = NO
GENERATE_XML = YES
OUTPUT_DIRECTORY = build/doxygen
QUIET = YES
WARN_IF_UNDOCUMENTED = YES
JAVADOC_AUTOBRIEF = YES
CONFIG
} | doxygen - 2>&1 | { grep -F -- "$part" || true; })
if [ -n "$warnings" ]; then
  printf '%s\n' "$warnings" >&2
  faults=1
fi

if [ -z "$plain" ]; then
  echo "clang-tidy (some ten minutes) ..."
  [ -f build/compile_commands.json ] || tools/dev/build.sh release -DCAVIGRAM_TESTS=ON
  sources cpp lib tools | { grep -F -- "$part" || true; } |
    xargs -r -n 1 -P "$(nproc)" clang-tidy -p build --quiet --extra-arg=-Wno-unknown-warning-option "${checks[@]}" 2>/dev/null || faults=1
fi

[ $faults -eq 0 ] && echo "Nothing found."
exit $faults
