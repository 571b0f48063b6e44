"""The plan on a page: one picture with layers, and what each point, panel and joint of it has to say."""

from slabwright.office.picture.writer import page_svg

__all__ = ["page_svg"]
