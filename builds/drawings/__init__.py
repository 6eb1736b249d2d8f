"""SVG drawings of the boat, its wiring, its openings and its figures. Pure Python: no Django, no files, no clock.

Where to look: hull (plan with side view), plan, side, section, wiring, template (true size), pattern (a type's
openings), day (a battery's charge), gauges (load, bench time), bars, bridge, trend. Input: boat, circuits.

Every function takes plain dataclasses and returns a `Drawn`: the SVG, its title and description, the tables of its
facts for those who cannot see it, and where it has one the sentence that stands under it.

A drawing serves screen and paper. Each stroke carries black-and-white attributes, which print as they are, and a
class, which the screen's stylesheet may colour; there is no style attribute. Paper takes nothing thinner than 0.7
units of a drawing 700 units wide at 182 mm (0.5 pt) and no text under 12 units (8.8 pt).

Strokes
    d-out       1.8  outline of the hull; what was cut
    d-part      1.3  outline of a fitted item, a box, a bar
    d-thin      0.9  a thinner outline: hatch, well, symbol
    d-hair      0.7  leader, dimension, axis, scale
    d-chain     0.7  centreline (long dash, short dash)
    d-hidden    0.9  inside or below the skin (dashes)
    d-limit     1.3  a limit in a chart (dashes)
    d-dots      1    station line (dots)
    d-wire      1.3  conductor; d-wire-pos and d-wire-neg beside it tell positive and negative
    d-tick      1.8  tick of a gauge; with d-ruler beside it the 100 mm line
    d-water     1.3  loaded waterline
    d-contour   0.7  lower waterlines, as depth contours; with d-waterplane beside it the loaded one
    d-band      0.7  hatch and d-band-edge dashes of the waterline's band
    d-hatch     0.7  hatch that is not water: estimate, kept back, cut away
    d-cross     0.7  crossed hatch: lost

Faces (white or empty on paper)
    d-tint      the water: waterplane in plan, below the waterline at the side
    d-skin      the hull's own face
    d-body      a fitted item, a balloon, a box: hides what lies behind
    d-under     the area under a curve
    d-cut       what is cut out, open
    d-spot      ring of a station
    d-press     field over a station that is pressed; nothing is drawn
    d-ring      a fitted item of unknown size; d-ring-in one inside or below the skin
    d-sleeve    label on a conductor
    d-solid     black: drilled hole, block of a scale, solid bar, dot
    d-open      white: open bar
    d-gap       the gap in a broken bar, the field behind a figure: in the colour of the ground

Marks and text
    d-line      group of what belongs to a ticket's line; carries data-line (ids, parted by spaces)
    d-place     group of a station's mark; carries data-station
    d-sel       on a d-line group: the selected line
    d-hole      group of an opening; carries data-opening, its letter
    d-balloon   circle round a line's number; d-balloon-n the number
    d-letter    box round an opening's letters; d-letter-n the letters
    d-text      lettering; d-quiet captions and names; d-strong figures; d-sea-text lettering of the waterline
"""
