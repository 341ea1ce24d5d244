"""The look, drawn from bronze: metal for what is chosen, verdigris for what is well, cuprite for danger."""

from __future__ import annotations

from textual.theme import Theme

DARK = Theme(
    name="patina dark",
    dark=True,
    primary="#d39a58",  # bright bronze
    secondary="#7fb3a0",  # verdigris
    accent="#8fc0ad",
    warning="#e2b94f",  # ochre
    error="#e5735a",  # cuprite
    success="#8fb573",  # malachite
    foreground="#e9dfd0",
    background="#15110d",
    surface="#1b1611",
    panel="#2a2119",
    variables={
        "block-cursor-background": "#452f1c",
        "block-cursor-foreground": "#fff4e2",
        "input-selection-background": "#6b4c28",
        "footer-key-foreground": "#d39a58",
        "border": "#5d4a34",
        "border-blurred": "#3a2e22",
        "scrollbar": "#5d4a34",
        "scrollbar-background": "#1b1611",
        "scrollbar-hover": "#8a6a42",
        "scrollbar-active": "#d39a58",
        "text-muted": "#b3a48f",
        "text-warning": "#ecc765",
        "text-error": "#f2927c",
        "text-success": "#a9cf8d",
    },
)

LIGHT = Theme(
    name="patina light",
    dark=False,
    primary="#70430f",
    secondary="#2e6a58",
    accent="#235c4b",
    warning="#7d5600",
    error="#a3301b",
    success="#42701f",
    foreground="#2a2018",
    background="#f6f1e8",
    surface="#fbf8f2",
    panel="#eadfce",
    variables={
        "block-cursor-background": "#e3cba6",
        "block-cursor-foreground": "#20160c",
        "input-selection-background": "#dcbd8c",
        "footer-key-foreground": "#70430f",
        "border": "#b59a76",
        "border-blurred": "#d6c6ad",
        "scrollbar": "#c9b493",
        "scrollbar-background": "#f6f1e8",
        "scrollbar-hover": "#a98a5e",
        "scrollbar-active": "#70430f",
        "text-muted": "#5a4b2e",
        "text-warning": "#6f4c00",
        "text-error": "#96260f",
        "text-success": "#3a651a",
    },
)
