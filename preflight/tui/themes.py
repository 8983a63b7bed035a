"""Colours. Safe condition green, mandatory blue, caution yellow, prohibition red: the families of the open
safety-colour standards (ISO 3864, ANSI Z535), lightened or darkened until they read as text.

Green and red differ in lightness too, and a stop is a filled badge; mark and word carry the verdict anyway.
"""

from __future__ import annotations

from textual.theme import Theme

DARK = Theme(
    name="preflight-dark",
    primary="#7fb4d8",
    secondary="#8a97a3",
    foreground="#d5dae0",
    background="#14181d",
    surface="#1a1f26",
    panel="#222932",
    success="#5fd0a0",
    warning="#f5c242",
    error="#ff7a6b",
    accent="#7fb4d8",
    dark=True,
    variables={
        "ok": "#5fd0a0",
        "caution": "#f5c242",
        "open": "#6fb4f2",
        "stop": "#ff8a7a",
        "stop-ground": "#b3261e",
        "quiet": "#8b96a3",
        "hairline": "#3a444f",
        "current-ground": "#2b3a4a",
        "field-ground": "#0d1013",
        "wood": "#c9a26b",
        "metal": "#9aa7b4",
        "air": "#7fc8e8",
        "danger-ground": "#b3261e",
        "warning-ground": "#d9730d",
        "notice-ground": "#1f5fa8",
        "warning-ink": "#000000",
    },
)

LIGHT = Theme(
    name="preflight-light",
    primary="#1f5f8b",
    secondary="#5b6670",
    foreground="#1c2126",
    background="#f6f5f1",
    surface="#eeede8",
    panel="#e4e3dd",
    success="#0a6b47",
    warning="#8a5a00",
    error="#a3180f",
    accent="#1f5f8b",
    dark=False,
    variables={
        "ok": "#0a6b47",
        "caution": "#855500",
        "open": "#1256a8",
        "stop": "#a3180f",
        "stop-ground": "#b3261e",
        "quiet": "#5e6872",
        "hairline": "#bdbcb5",
        "current-ground": "#d3e2ef",
        "field-ground": "#ffffff",
        "wood": "#8a5f22",
        "metal": "#4e5a66",
        "air": "#0f6a8f",
        "danger-ground": "#b3261e",
        "warning-ground": "#f08a24",
        "notice-ground": "#1f5fa8",
        "warning-ink": "#000000",
    },
)

THEMES = (DARK, LIGHT)
