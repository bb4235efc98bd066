"""Drawings of which only a picture tells what is seen: masks, paint servers, clips of what is moved once more.

Everything painted is far from white, and the page is white.
"""

# ruff: noqa: E501 - a drawing reads best in one line
from __future__ import annotations

from documents import page

_M = '<rect x="50" y="50" width="200" height="200" fill="#235" mask="url(#m)"/>'
_W = 'fill="white"'
_MASKS = (
    f'<mask id="m"><rect x="100" y="20" width="100" height="300" {_W}/></mask>',
    f'<mask id="m"><rect width="400" height="400" {_W}/><circle cx="150" cy="150" r="60"/></mask>',
    f'<mask id="m"><rect width="400" height="400" {_W}/><circle cx="150" cy="150" r="60"/><circle cx="150" cy="150" r="30" {_W}/></mask>',
    f'<mask id="m"><circle cx="150" cy="150" r="60"/><rect width="150" height="400" {_W}/></mask>',
    f'<mask id="m"><g {_W}><rect x="60" y="60" width="100" height="100"/><circle cx="180" cy="180" r="50"/></g></mask>',
    f'<mask id="m" maskContentUnits="objectBoundingBox"><circle cx=".5" cy=".5" r=".4" {_W}/></mask>',
    f'<mask id="m" maskUnits="userSpaceOnUse" x="100" y="100" width="60" height="200"><rect width="400" height="400" {_W}/></mask>',
    f'<mask id="m" x="0.5" y="10%" width="0.25" height="50%"><rect width="400" height="400" {_W}/></mask>',
    '<mask id="m" mask-type="alpha"><circle cx="150" cy="150" r="60"/><rect x="60" y="60" width="60" height="60" fill="white"/></mask>',
    '<mask id="m" style="mask-type:alpha"><rect x="60" y="60" width="120" height="120" fill="red"/><rect x="190" y="60" width="30" height="120" fill="none"/></mask>',
    f'<mask id="m"><rect x="60" y="60" width="120" height="120" {_W} transform="rotate(10)"/></mask>',
    f'<mask id="m"><use href="#k" {_W}/></mask><defs><g id="k"><circle cx="120" cy="120" r="50"/><circle cx="190" cy="190" r="40"/></g></defs>',
    f'<mask id="m"><rect width="400" height="400" {_W} clip-path="url(#c)"/></mask><clipPath id="c"><circle cx="150" cy="150" r="70"/></clipPath>',
    f'<mask id="m"><rect width="400" height="400" {_W}/><rect x="100" y="100" width="50" height="300" visibility="hidden"/><rect x="180" y="20" width="20" height="300" display="none"/></mask>',
    f'<mask id="m"><path fill-rule="evenodd" d="M60 60H240V240H60zM100 100H200V200H100z" {_W}/></mask>',
    f'<mask id="m"><path d="M60 60L240 150 60 240 150 60 150 240z" {_W}/></mask>',
    f'<mask id="m"><rect width="400" height="400" {_W}/><rect x="100" y="100" width="60" height="60" opacity="0"/><rect x="180" y="100" width="30" height="60" fill-opacity="0"/></mask>',
    f'<mask id="m"><rect x="60" y="60" width="60" height="60" {_W}/><rect x="120" y="60" width="60" height="60" {_W}/><rect x="90" y="120" width="60" height="60" {_W}/></mask>',
    f'<mask id="m"><rect x="60" y="60" width="100" height="100" {_W}/><rect x="60" y="60" width="100" height="100" {_W}/><rect x="120" y="60" width="40" height="100"/></mask>',
    '<mask id="m"/>',
    '<mask id="other"/>',
)  # fmt: skip
MASKS = {f"mask {i + 1}": page(_M + m) for i, m in enumerate(_MASKS)} | {
    "mask of a group": page(f'<mask id="m"><rect width="400" height="400" {_W}/><circle cx="150" cy="150" r="60"/></mask><g mask="url(#m)" transform="translate(30 10)"><rect x="50" y="50" width="80" height="200"/><rect x="160" y="50" width="80" height="200" fill="red"/></g>'),
    "mask of an instance": page(f'<mask id="m"><circle cx="100" cy="60" r="50" {_W}/></mask><defs><rect id="r" width="200" height="100"/></defs><use href="#r" x="50" y="50" mask="url(#m)"/>'),
    "mask within a mask": page(f'<mask id="m"><circle cx="150" cy="150" r="90" {_W}/></mask><mask id="n"><rect width="150" height="400" {_W}/></mask><g mask="url(#n)">{_M}</g>'),
    "mask and clip": page(f'<mask id="m"><circle cx="150" cy="150" r="90" {_W}/></mask><clipPath id="c"><rect width="400" height="150"/></clipPath><g clip-path="url(#c)">{_M}</g>'),
    "mask by a rule": page(f'<style>rect{{mask:url(#m)}}mask rect{{mask:none}}</style><mask id="m"><rect width="150" height="400" {_W}/></mask><rect x="50" y="50" width="200" height="200"/>'),
}  # fmt: skip

_P = '<rect x="50" y="50" width="100" height="100" fill="url(#p)"/><rect x="200" y="50" width="100" height="100" fill="url(#p) #235"/>'
_SERVERS = (
    '<linearGradient id="p"><stop stop-color="#800"/><stop offset="1" stop-color="#080"/></linearGradient>',
    '<linearGradient id="p"/>', '<linearGradient id="p"><stop stop-color="#800"/></linearGradient>',
    '<radialGradient id="p" href="#q"/><linearGradient id="q"><stop stop-color="#800"/><stop offset="1" stop-color="#080"/></linearGradient>',
    '<linearGradient id="p" href="#p"/>', '<linearGradient id="p"><stop stop-opacity="0"/><stop offset="1" stop-opacity="0"/></linearGradient>',
    '<linearGradient id="p"><stop style="stop-color:#800;stop-opacity:0"/><stop offset="1" stop-color="transparent"/></linearGradient>',
    '<pattern id="p" width="20" height="20" patternUnits="userSpaceOnUse"><rect width="20" height="20" fill="#385"/></pattern>',
    '<pattern id="p" width="20" height="20" patternUnits="userSpaceOnUse"/>', '<pattern id="p" width="0" height="20" patternUnits="userSpaceOnUse"><rect width="20" height="20" fill="#385"/></pattern>',
    '<pattern id="p" href="#q"/><pattern id="q" width=".2" height=".2"><rect width="99" height="99" fill="#385"/></pattern>',
    '<pattern id="p" href="#q" width=".5" height=".5"/><pattern id="q"><rect width="99" height="99" fill="#385"/></pattern>', '<pattern id="p"><rect width="99" height="99" fill="#385"/></pattern>',
)  # fmt: skip
SERVERS = {f"paint server {i + 1}": page(_P + s) for i, s in enumerate(_SERVERS)} | {
    "context of an instance": page(
        '<defs><g id="k"><rect width="60" height="60" fill="context-fill"/><rect x="80" width="60" height="60" fill="context-stroke"/></g></defs>'
        '<use href="#k" x="20" y="20" fill="#235" stroke="#a40"/><use href="#k" x="20" y="120" fill="none"/><g transform="translate(20 220)"><rect width="60" height="60" fill="context-fill"/></g>'
    ),
}  # fmt: skip

MOVED = {
    "clip of an instance": page('<clipPath id="c"><circle cx="100" cy="100" r="60"/></clipPath><defs><rect id="r" width="200" height="100"/></defs><use href="#r" x="50" y="50" clip-path="url(#c)"/>'),
    "clip of an instance in box units": page('<clipPath id="c" clipPathUnits="objectBoundingBox"><circle cx=".5" cy=".5" r=".4"/></clipPath><defs><rect id="r" x="10" width="200" height="100"/></defs><use href="#r" x="50" y="50" clip-path="url(#c)"/>'),
    "clip of a nested drawing": page('<clipPath id="c"><circle cx="100" cy="100" r="80"/></clipPath><svg x="50" y="50" width="300" height="200" clip-path="url(#c)"><rect width="300" height="300"/></svg>'),
    "clip of a nested drawing with a viewBox": page('<clipPath id="c"><circle cx="10" cy="5" r="4"/></clipPath><svg x="50" y="50" width="200" height="100" viewBox="0 0 20 10" clip-path="url(#c)"><rect width="300" height="300"/></svg>'),
    "clip of a symbol": page('<clipPath id="c"><circle cx="10" cy="5" r="4"/></clipPath><symbol id="s" viewBox="0 0 20 10" clip-path="url(#c)"><rect width="20" height="10"/></symbol><use href="#s" x="50" y="50" width="200" height="100"/>'),
    "clip of a moved group": page('<clipPath id="c"><circle cx="100" cy="100" r="60"/></clipPath><g transform="translate(50 50)" clip-path="url(#c)"><rect width="200" height="100"/></g>'),
}  # fmt: skip
