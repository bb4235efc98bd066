"""Reading strokes: where on a sheet a text stands, and how high, turned or mirrored it is."""

import numpy as np

from convert.cutting.letters import letter

HEIGHT = 6.0


def find_text(strokes, text):
    """Return (height, degrees) for each place where neighbouring strokes are `text`, unmirrored.

    The strokes of the text as it should be are laid on as many neighbouring ones by the turn, scale and
    shift that fit best (least squares over complex numbers); a mirrored text has no such fit.
    """
    wanted = [chain.points[:, 0] + 1j * chain.points[:, 1] for chain in letter(text, (0.0, 0.0), HEIGHT)]
    sizes = [len(z) for z in wanted]
    a = np.concatenate(wanted)
    a = a - a.mean()
    found = []
    chains = [stroke.chain for stroke in strokes]
    for first in range(len(chains) - len(wanted) + 1):
        window = chains[first : first + len(wanted)]
        if [len(chain.points) for chain in window] != sizes:
            continue
        b = np.concatenate([chain.points[:, 0] + 1j * chain.points[:, 1] for chain in window])
        b = b - b.mean()
        turn = np.vdot(a, b) / np.vdot(a, a)
        if np.abs(turn * a - b).max() < 1e-6:
            found.append((HEIGHT * abs(turn), float(np.degrees(np.angle(turn)))))
    return found


def texts_of(sheet, purpose, copy, *texts):
    """Return those of `texts` that stand in one copy of a sheet."""
    own = [s for s in sheet.strokes if s.purpose is purpose and s.copy == copy]
    return {text for text in texts if find_text(own, text)}
