#!/usr/bin/env bash
# Make the environment if need be, install what tests need, run every check and every test.
set -euo pipefail
cd "$(dirname "$0")/.."

if [ ! -x .venv/bin/python ]; then
  python3 -m venv .venv
fi
.venv/bin/pip install --quiet --disable-pip-version-check --editable '.[test]'

# The browser tests drive the system's Chromium; with the rights for it, install it.
if ! command -v chromium >/dev/null && [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
  apt-get update -q && apt-get install -q -y --no-install-recommends chromium fonts-dejavu-core
fi

.venv/bin/ruff format --check .
.venv/bin/ruff check .
.venv/bin/mypy
.venv/bin/lint-imports
.venv/bin/pytest "$@"
