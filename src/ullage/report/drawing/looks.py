"""How everything in a drawing looks, by day and by night.

No colour stands alone: waste is thicker and grained, hot is a double line, a valve that rests closed is filled.
"""

from __future__ import annotations

from ullage.report.inks import DARK, LIGHT, declared
from ullage.report.lettering import FACE

LOOKS = {
    "light": {"metal": "#ffffff", "water": "#bfe0e8", "waste": "#d9cfb4"},
    "dark": {"metal": "#1d262c", "water": "#1f5563", "waste": "#4e4630"},
}
"""Inks that only a drawing has: of tanks and bodies, of water and of waste."""


def _named(which: str) -> str:
    inks = declared(LIGHT if which == "light" else DARK)
    return inks + "".join(f"--{name}:{ink};" for name, ink in LOOKS[which].items())


STYLE = (
    f"""
.rig{{{_named("light")}font-family:{FACE}}}
@media (prefers-color-scheme:dark){{.rig{{{_named("dark")}}}}}
[data-ink=light] .rig,.rig[data-ink=light]{{{_named("light")}}}
[data-ink=dark] .rig,.rig[data-ink=dark]{{{_named("dark")}}}
"""
    + """
.rig .paper{fill:var(--paper)}
.rig text{fill:var(--text)}
.rig .faint,.rig .number{fill:var(--faint)}
.rig .name,.rig .faint,.rig .number{paint-order:stroke;stroke:var(--paper);stroke-width:2.5px;stroke-linejoin:round}
.rig .flag~text{stroke:none}
.rig .title,.rig .tankname{font-weight:700}
.rig .letter{font-weight:700}
.rig path,.rig circle{fill:none;stroke:var(--text);stroke-width:1.3;stroke-linejoin:round;stroke-linecap:round}
.rig .pipe{stroke:var(--series-1);stroke-width:2}
.rig .pipe.hot{stroke:var(--series-2);stroke-width:4}
.rig .core{stroke:var(--paper);stroke-width:1.4}
.rig .pipe.waste{stroke:var(--series-5);stroke-width:3.4}
.rig .halo{stroke:var(--paper);stroke-width:5.5;stroke-linecap:butt}
.rig .body,.rig .tank,.rig .flag,.rig .bubble,.rig .blank{fill:var(--metal)}
.rig .blank{stroke:none}
.rig .solid,.rig .tip,.rig [data-state=closed] .tie{fill:var(--text)}
.rig .tip,.rig .drop{stroke:none}
.rig .drop{fill:var(--series-1)}
.rig .arrow,.rig .dot{fill:var(--series-1);stroke:none}
.rig .arrow.hot,.rig .dot.hot{fill:var(--series-2)}
.rig .arrow.waste,.rig .dot.waste{fill:var(--series-5)}
.rig .thin,.rig .rod,.rig .vent{stroke-width:1}
.rig .wall{stroke-width:1.8}
.rig .rod{stroke:var(--faint)}
.rig .ball{fill:var(--metal);stroke-width:1}
.rig .eye{fill:var(--text);stroke:none}
.rig .signal{stroke:var(--faint);stroke-width:.9;stroke-dasharray:3 2}
.rig .lead{stroke:var(--faint);stroke-width:.7}
.rig .water{fill:var(--water);stroke:none}
.rig .water.waste{fill:var(--waste)}
.rig .grain{stroke:var(--faint);stroke-width:.8}
.rig .surface{stroke:var(--series-1);stroke-width:1.4}
.rig .ground{stroke-width:1.6}
.rig .hatch{stroke:var(--faint);stroke-width:.8}
.rig .axis{stroke:var(--faint);stroke-width:.8;stroke-dasharray:9 3 2 3}
.rig .origin{fill:var(--paper);stroke:var(--faint)}
.rig .rule{stroke:var(--grid)}
.rig .bar{fill:var(--paper);stroke-width:.9}
.rig .bar.dark{fill:var(--text)}
"""
)
"""The style sheet of a drawing."""
