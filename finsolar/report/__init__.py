"""Room 7, results for people and for machines: views of one Study, which recompute nothing.

In: a :class:`~finsolar.study.Study`. Out: text.

plain     the study as plain values for JSON
table     the same as rows: CSV, and the short table of the terminal
words     every sentence and label that people read
figures   the charts of the page
page      the page itself
files     writing, so that a failed run leaves the old file
"""
