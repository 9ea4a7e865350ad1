"""Figures drawn as SVG: scales, ticks, bands, marks and the target strip; pure Python.

Lengths are SVG user units: CSS pixels at the size a drawing is made for. What is measured comes as
numbers of one unit, whichever that is. Geometry and paper colours stand in attributes, so that a
drawing is whole on paper, where no style sheet reaches into it, and under a policy that allows no
inline style; a page's style sheet overrides the colours by class.
"""
