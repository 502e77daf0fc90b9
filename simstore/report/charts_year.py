"""The charts of the year: humidity inside, weeks over the ceiling, and work against what there is."""

from simstore.report.chart_rh import rh_of_the_year
from simstore.report.chart_weeks import weeks_over
from simstore.report.chart_work import work_of_the_year

__all__ = ["rh_of_the_year", "weeks_over", "work_of_the_year"]
