"""The one style sheet of the pages, from the colours of the palette."""

from __future__ import annotations

from ..palette import LIGHT, Mode

SHEET = """
[data-testid="stMainBlockContainer"]{max-width:1360px;margin-left:0!important;margin-right:auto!important;
 align-self:flex-start;padding:4.6rem 2rem 3rem;font-variant-numeric:tabular-nums}
[data-testid="stMainBlockContainer"] [data-testid="stVerticalBlock"]{gap:.8rem}
.q{font-size:.95rem;color:var(--soft);margin:0 0 .35rem}
h1.say{font-size:1.72rem!important;line-height:1.3!important;font-weight:400!important;letter-spacing:-.005em;margin:0;
 padding:0!important;max-width:46ch;text-wrap:pretty;color:var(--ink)}
h1.say b,.more b{font-weight:500;text-decoration:underline;text-decoration-color:var(--accent);
 text-decoration-thickness:2px;text-underline-offset:.2em}
.more{max-width:80ch;margin:.7rem 0 0;font-size:.95rem;line-height:1.5}
.from{font-size:.82rem;color:var(--soft);margin-top:.7rem}
.from span,.day,time{white-space:nowrap}
.line{border:1px solid var(--risk);color:var(--risk);padding:.35rem .7rem;border-radius:3px;font-size:.88rem;
 display:inline-block;margin-top:.7rem}
.nums{display:grid;grid-template-columns:repeat(var(--of),1fr);border-top:2px solid var(--ink);margin:.3rem 0 .2rem}
.nums>div{padding:.7rem 1rem .75rem 0;border-bottom:1px solid var(--line)}
.nums .l,.nums .s{font-size:.84rem;color:var(--soft)}
.nums .v{font-size:1.62rem;line-height:1.35;font-weight:500;white-space:nowrap}
.nums .v small{font-size:.9rem;font-weight:400;color:var(--soft)}
.ten{display:inline-flex;gap:4px;padding:.3rem 0 .1rem}
.ten i{width:9px;height:9px;border-radius:50%;border:1.5px solid var(--accent);box-sizing:border-box}
.ten i.y{background:var(--accent)}
.far p{margin:0;font-size:.9rem}
.far .track{height:8px;background:var(--band);border:1px solid var(--rule);margin:.5rem 0}
.far .track div{height:100%;background:var(--accent)}
.fault{font-size:.92rem;line-height:1.5;margin:.3rem 0;padding-left:1.1rem;position:relative;overflow-wrap:anywhere}
.fault::before{content:"";position:absolute;left:0;top:.55em;width:.5em;height:.5em;background:var(--late)}
.cap{font-size:.84rem;line-height:1.5;color:var(--soft);margin:0}
h2.ct{font-size:1rem!important;font-weight:600!important;margin:.9rem 0 0!important;padding:0!important;
 color:var(--ink)}
.cs{font-size:.86rem;color:var(--soft);margin:.1rem 0 0;max-width:96ch;text-wrap:pretty}
.cs.of{margin-top:.5rem}
.mn{border-left:3px solid var(--rule);padding:.05rem 0 .1rem .8rem;font-size:.86rem;line-height:1.5;
 margin:.2rem 0 .4rem}
.mn b{display:block;font-weight:600}
.mn ul{margin:0;padding-left:1rem}
.mn li{font-size:.86rem;margin:0}
.mn.caution{border-left-color:var(--risk)}
.mn.caution b{color:var(--risk)}
.key{font-size:.84rem;color:var(--soft);display:flex;flex-wrap:wrap;gap:.2rem 1.1rem;margin:.3rem 0 0}
.key i{display:inline-block;width:.8em;height:.8em;border-radius:2px;margin-right:.4em;vertical-align:-.05em}
.also{margin:.2rem 0;padding-left:1.1rem;max-width:80ch}.also li{font-size:.92rem;line-height:1.5;margin:.15rem 0}
.wide{overflow-x:auto;margin:.2rem 0 .4rem}
.wide:focus-visible{outline:2px solid var(--accent);outline-offset:2px}
.wide table{border-collapse:collapse;font-size:.86rem;width:100%;margin:0}
.wide th,.wide td{padding:.34rem .6rem;border:1px solid var(--line);text-align:left;font-weight:400;
 vertical-align:top;color:var(--ink);white-space:nowrap}
.wide .w{white-space:normal;min-width:14rem}
.wide thead th{background:var(--band);color:var(--soft);vertical-align:bottom;white-space:normal}
.wide .n{text-align:right}
[data-testid="stMainBlockContainer"] a,[data-testid="stMainBlockContainer"] a:visited{color:var(--accent)}
.foot{font-size:.82rem;color:var(--soft);border-top:1px solid var(--line);padding-top:.6rem;margin-top:1rem}
[data-testid="stButtonGroup"] button{min-height:2.6rem}
[data-testid="stMainBlockContainer"] [data-testid^="stBaseButton"]{min-height:2.5rem}
[data-testid="stMainBlockContainer"] [data-testid="stBaseButton-primary"],
[data-testid="stMainBlockContainer"] [data-testid="stBaseButton-primary"] *{color:var(--on-accent)!important}
[data-testid="stMainBlockContainer"] [data-testid="stBaseButton-primary"]:disabled *{color:var(--soft)!important}
[data-testid="stTopNavLink"]{padding:.25rem .34rem!important}
[data-testid="stTopNavLink"] p{font-size:.86rem!important}
[data-testid="stTopNavLink"] span::after{content:none!important} /* room for a bold name: eleven would not fit */
[data-testid="stTopNav"] .rc-overflow-item>div{padding:0!important;margin:0!important}
[data-testid="stSidebar"] [data-testid="stSelectbox"] input{font-size:.8rem;padding-left:.4rem;padding-right:0;
 letter-spacing:-.01em}
@media (min-width:900px){[data-testid="stSidebar"]{width:236px!important;min-width:236px!important}}
@media (max-width:640px){
 [data-testid="stMainBlockContainer"]{padding:4.4rem 1rem 3rem}
 h1.say{font-size:1.32rem!important}
 .nums{grid-template-columns:1fr 1fr}.nums .v{font-size:1.3rem}.nums>div{padding-right:.6rem}}
@media (max-width:640px){
 .st-key-memo [data-testid="stColumn"]:first-child,
 .st-key-memo [data-testid="stColumn"]:first-child>[data-testid="stVerticalBlock"]{display:contents}
 .st-key-memo>[data-testid]>[data-testid="stHorizontalBlock"],
 .st-key-memo>[data-testid="stHorizontalBlock"]{row-gap:.9rem}
 .st-key-memo [data-testid="stLayoutWrapper"]{width:100%}
 .st-key-memo [data-testid="stColumn"]:last-child{order:2}
 .st-key-memo [data-testid="stLayoutWrapper"]:has(>.st-key-memo-numbers){order:3}}
@media (prefers-reduced-motion:reduce){*{transition:none!important;animation:none!important}}
"""


def style(mode: Mode) -> str:
    """The style sheet for a light or a dark page."""
    on_accent = "#FFFFFF" if mode is LIGHT else mode["page"]
    roles = "".join(f"--{role}:{colour};" for role, colour in mode.items())
    return f"<style>:root{{{roles}--on-accent:{on_accent};}}{SHEET}</style>"
