"""The invented scenario: a coast, its communities and makers, and 29 covered pieces whose truth is known."""

from weftglass.demo.build import build_demo
from weftglass.demo.report import DemoReport, DemoRow, demo_report

__all__ = ["DemoReport", "DemoRow", "build_demo", "demo_report"]
