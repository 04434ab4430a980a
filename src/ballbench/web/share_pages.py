"""The two pages of pairing: where the machine that runs the bench makes links, and where a device hands its link in."""

from __future__ import annotations

from markupsafe import Markup

from ballbench.presentation.screens.frame import page

__all__ = ["pair_html", "share_html"]

_PAIR = Markup("""<h1>Pair this device</h1>
<p id="said" role="status">A device comes in with a link that is made for it, once.</p>
<div id="again" hidden>
<p>On the machine that runs ballbench, open the page Share, make a link, and scan the picture with this device.</p>
</div>
<noscript><p>Pairing needs JavaScript: allow it for this address and load the link again.</p></noscript>
""")

_ALONE = Markup("""<h1>Share</h1>
<p>The bench is open to this machine alone.</p>
<p>To measure with a phone or a tablet on the same network, end ballbench in its terminal and start it with:</p>
<p><code>ballbench open --share</code></p>
<p>Readings that were acknowledged are safe.</p>
""")

_SHARED = Markup("""<h1>Share</h1>
<p>Devices on the local network reach the bench at <code>{shared}</code>. Each needs a link of its own: it works once,
and for ten minutes. What is sent is not encrypted, so share on a network whose people you trust.</p>
<form id="new-link">
<div class="field">
<label for="device-name">What is the device called?</label>
<p class="hint" id="device-hint">Such as “phone at the drop tube”; it stands in the list below.</p>
<input type="text" id="device-name" maxlength="60" autocomplete="off" aria-describedby="device-hint">
</div>
<p class="acts"><button class="main" type="submit">Make a link</button></p>
</form>
<p id="said" role="status"></p>
<section id="made" aria-labelledby="made-heading" hidden>
<h2 id="made-heading">Scan with <span id="whose"></span></h2>
<div id="picture"></div>
<p>Or open this link on the device: <code id="link"></code></p>
</section>
<section aria-labelledby="devices-heading">
<h2 id="devices-heading">Paired devices</h2>
<p id="no-devices">None yet.</p>
<ul id="devices"></ul>
<p class="hint">They stay paired until ballbench ends.</p>
</section>
""")


def pair_html() -> str:
    """Write the page that hands a link's token in; the token itself never reaches an address that is logged."""
    return page("Pair this device", _PAIR, here="pair", script="pair.js")


def share_html(shared: str | None) -> str:
    """Write the page that makes links.

    Parameters
    ----------
    shared : str or None
        Address for other devices; None: the bench is not shared.
    """
    if shared is None:
        return page("Share", _ALONE, here="share")
    return page("Share", _SHARED.format(shared=shared), here="share", script="share.js")
