"""The look that all panels share, and the small pieces of HTML they speak with."""

import base64
import html
from pathlib import PurePath

KINDS = {
    ".pdf": "application/pdf",
    ".html": "text/html",
    ".zip": "application/zip",
    ".png": "image/png",
    ".md": "text/markdown",
    ".txt": "text/plain",
}
# A slider has no name and tells a screen reader only the number of its position; here it is given the name
# of its row and the value that is shown back there, whenever something in the row or panel has changed.
# JupyterLab takes the arrow keys and some letters to itself, unless a list or a slider is marked as here.
MIND_THE_CONTROLS = """
const around = this.closest('.machinelab-panel') || this.closest('.machinelab-row');
const mind = () => around.querySelectorAll('select, .noUi-handle').forEach(one => {
  one.setAttribute('data-lm-suppress-shortcuts', 'true');
  const row = one.matches('.noUi-handle') && one.closest('.machinelab-row');
  if (!row) return;
  const shown = row.querySelector('.machinelab-back');
  one.setAttribute('aria-label', row.querySelector('label').textContent);
  if (shown) one.setAttribute('aria-valuetext', shown.textContent);
});
new MutationObserver(mind).observe(around, {childList: true, subtree: true, characterData: true});
mind();
"""
LOOK = """
.machinelab-panel {border: 1px solid #bdbdbd; border-left: 4px solid #4d4d4d; padding: 8px 12px;
  background: var(--jp-layout-color0, #fff); max-width: 840px;}
.machinelab-sentence {font-size: 14px; line-height: 1.45; margin: 4px 0;}
.machinelab-back {font-size: 13px; white-space: nowrap;}
.machinelab-own, .machinelab-help {font-size: 12px; color: var(--jp-ui-font-color2, #555); line-height: 1.35;}
.machinelab-notice {font-size: 13px; line-height: 1.35; min-height: 1.35em;}
.machinelab-notice b {text-decoration: underline;}
.machinelab-copy textarea {width: 100%; height: 11em; font-family: monospace; font-size: 12px;
  box-sizing: border-box;}
.machinelab-verdict {font-size: 15px; border: 1px solid #4d4d4d; display: inline-block; padding: 2px 10px;}
.machinelab-panel a {text-decoration: underline;}
.machinelab-mark {position: relative; height: 0; margin: 0 6px 0 5px; font-size: 11px; line-height: 1;}
.machinelab-mark span {position: absolute; top: -7px; transform: translateX(-50%);}
.machinelab-panel img {background: #fff; display: block; max-width: 100%; height: auto;}
.machinelab-panel .jupyter-widgets, .machinelab-panel textarea {max-width: 100%; box-sizing: border-box;}
.machinelab-panel .widget-inline-hbox .widget-label {text-align: left;}
"""
STYLE = f'<style onload="{html.escape(MIND_THE_CONTROLS, quote=True)}">{LOOK}</style>'


def words(text: str, kind: str) -> str:
    """Put words, escaped, into an element of one of the kinds styled above."""
    return f'<div class="machinelab-{kind}">{html.escape(text)}</div>'


def take_along(name: str, content: bytes) -> str:
    """A file in its own link, so that it can be saved anywhere, wherever its folder is."""
    data = base64.b64encode(content).decode("ascii")
    address = f"data:{KINDS[PurePath(name).suffix]};base64,{data}"
    called = html.escape(name, quote=True)
    return f'<a download="{called}" href="{address}">{called}</a>'


def notice(text: str) -> str:
    """Say what is wrong beside the box; an empty text keeps the line's height so nothing jumps."""
    if not text:
        return '<div class="machinelab-notice" role="status"></div>'
    return f'<div class="machinelab-notice" role="alert"><b>Please look:</b> {html.escape(text)}</div>'


def mark_at(share: float) -> str:
    """A mark below a slider at a share of its way; for the eye only, since words beside it say the same."""
    mark = f'<span style="left:{100 * share:.1f}%">▲</span>'
    return f'<div class="machinelab-mark" aria-hidden="true">{mark}</div>'
