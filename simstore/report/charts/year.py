"""The charts of the year: humidity inside, weeks over the ceiling, and work against what there is."""

from simstore.report.charts.humidity import rh_of_the_year
from simstore.report.charts.weeks_over import weeks_over
from simstore.report.charts.work import work_of_the_year

__all__ = ["rh_of_the_year", "weeks_over", "work_of_the_year"]
