"""Every word that people read on the page, the terminal and in files, kept together for translation."""
