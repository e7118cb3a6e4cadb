"""Pages: what one notebook of the workbook holds together: the machine, what is known, what was measured.

A notebook's cells only name what a page offers. What cannot be told yet is answered in words, so that every
notebook runs to its end with any machine, even an empty one.
"""
