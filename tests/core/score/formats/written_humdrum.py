"""An invented piece of four measures for two hands, as a Humdrum file."""

from __future__ import annotations

PIECE = """\
!!!COM: Nemo, Anna
!!!OTL: Invented
**kern\t**kern
*Ipiano\t*Ipiano
*staff2\t*staff1
*clefF4\t*clefG2
*k[b-]\t*k[b-]
*F:\t*F:
*M2/4\t*M2/4
*MM72\t*MM72
4r\t8cL
.\t8eJ
=1\t=1
4C 4E\t8.dd#'~L
.\t16eenJ
4F\t[4ff;
=2:|!\t=2:|!
*\t*^
4D\t4ff]\t4dn
4r\tqg\t.
.\t4a-\t4B-
*\t*v\t*v
=3!|:\t=3!|:
6C\t2cc
6D\t.
6E\t.
==\t==
*-\t*-
"""
