"""Files that are not MusicXML, written out as MusicXML, from which the canonical form is made.

``converting`` finds out what a file is and hands it to its reader; each reader fills a ``Draft``,
and one writer (``draft_writer``) turns any draft into MusicXML.
"""
