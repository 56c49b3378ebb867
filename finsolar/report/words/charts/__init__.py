"""Words of the charts, a module for each module that draws some."""
