"""Room 7, results for people and for machines: views of one Study, which recompute nothing.

In: a :class:`~finsolar.study.Study`. Out: text.

plain     the study as plain values for JSON
table     the same as rows: CSV, and the short table of the terminal
words     every sentence and label that people read
figures   the charts of the page
page      the page itself
printing  the same on paper
command   the whole study of one household, and its views
run       one run of the command: from scenario files to results, all or none
several, side_by_side   many households in one run, and their common page
whose     whose result a file is
files     writing, so that a failed run leaves the old files
"""
