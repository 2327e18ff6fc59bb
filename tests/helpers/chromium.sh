#!/bin/sh
# The system's Chromium. Its address bar's lists are pages in a process of their own, 0.4 s of processor time for each
# profile's first window; of two lists of features that are off Chromium heeds the last alone, so this joins
# Playwright's own.
for word in "$@"; do
  shift
  case $word in --disable-features=*) word=$word,WebUIOmniboxPopup,WebUIOmniboxAimPopup ;; esac
  set -- "$@" "$word"
done
exec "$(command -v chromium || command -v chromium-browser)" "$@"
