#include "ui/desktop/frame/desk_look.h"

namespace islebook {

DeskLook DeskLook::Of(bool night) {
  DeskLook look;
  look.chart = night ? ChartLook::Night() : ChartLook::Day();
  look.panel = Mix(look.chart.ink, look.chart.paper, night ? 0.06 : 0.045);
  look.edge = Mix(look.chart.ink, look.chart.paper, 0.2);
  look.chosen = Mix(look.chart.ochre, look.chart.paper, 0.22);
  return look;
}

QPalette DeskPalette(const DeskLook& look) {
  const ChartLook& c = look.chart;
  QPalette palette;
  palette.setColor(QPalette::Window, c.paper);
  palette.setColor(QPalette::WindowText, c.ink);
  palette.setColor(QPalette::Base, c.paper);
  palette.setColor(QPalette::AlternateBase, look.panel);
  palette.setColor(QPalette::Text, c.ink);
  palette.setColor(QPalette::PlaceholderText, c.faint_ink);
  palette.setColor(QPalette::Button, look.panel);
  palette.setColor(QPalette::ButtonText, c.ink);
  palette.setColor(QPalette::BrightText, c.oxide_print);
  palette.setColor(QPalette::Highlight, look.chosen);
  palette.setColor(QPalette::HighlightedText, c.ink);
  palette.setColor(QPalette::Link, c.sea_print);
  palette.setColor(QPalette::LinkVisited, c.sea_print);
  palette.setColor(QPalette::ToolTipBase, look.panel);
  palette.setColor(QPalette::ToolTipText, c.ink);
  palette.setColor(QPalette::Light, look.panel);
  palette.setColor(QPalette::Mid, look.edge);
  palette.setColor(QPalette::Dark, look.edge);
  palette.setColor(QPalette::Shadow, look.edge);
  const QColor dim = Mix(c.ink, c.paper, 0.42);
  for (QPalette::ColorRole role : {QPalette::WindowText, QPalette::Text, QPalette::ButtonText}) palette.setColor(QPalette::Disabled, role, dim);
  return palette;
}

QString DeskStyle(const DeskLook& look) {
  // Widgets that mean something special say so by their object name or a property; the rest is common to all.
  QString style = QStringLiteral(R"(
    QWidget { font-family: "DejaVu Sans", sans-serif; font-size: 13px; }
    QToolTip { background: PANEL; color: INK; border: 1px solid EDGE; padding: 4px; }
    QFrame#room_strip { background: PANEL; border: none; border-right: 1px solid EDGE; }
    QFrame#facts_column { background: PANEL; border: none; border-left: 1px solid EDGE; }
    QFrame#habits { background: PANEL; border: none; border-top: 1px solid EDGE; }
    QFrame#word_line { background: PANEL; border: none; border-top: 1px solid EDGE; }
    QLabel#top_line { font-size: 16px; font-weight: bold; }
    QLabel[heading="true"] { font-weight: bold; color: INK; }
    QLabel[faint="true"] { color: FAINT; }
    QLabel[limit="true"] { color: LIMIT; }
    QToolButton { border: 1px solid transparent; padding: 4px 8px; background: transparent; color: INK; }
    QToolButton:hover { border-color: EDGE; }
    QToolButton:focus, QPushButton:focus { border: 2px solid OCHRE; }
    QToolButton:checked { background: CHOSEN; border: 2px solid OCHRE; font-weight: bold; }
    QToolButton[framed="true"] { border: 1px solid EDGE; padding: 5px 12px; }
    QToolButton[framed="true"]:focus { border: 2px solid OCHRE; }
    QToolButton[close="true"] { padding: 4px 5px; }
    QToolButton[tool="true"] { padding: 3px 5px; font-size: 12px; }
    QToolButton[strip="true"] { padding: 10px 6px; min-width: 88px; }
    QPushButton { border: 1px solid EDGE; padding: 5px 12px; background: PAPER; color: INK; }
    QPushButton:hover { border-color: INK; }
    QPushButton:disabled { color: DIM; }
    QPushButton[main="true"] { border: 2px solid INK; font-weight: bold; }
    QPushButton[main="true"]:focus { border-color: OCHRE; }
    QLineEdit, QComboBox, QSpinBox, QDoubleSpinBox, QPlainTextEdit, QTextBrowser, QListView, QTableView, QTreeView
      { background: PAPER; color: INK; border: 1px solid EDGE; selection-background-color: CHOSEN; selection-color: INK; }
    QLineEdit, QSpinBox, QDoubleSpinBox { padding: 3px 5px; }
    QLineEdit:focus, QComboBox:focus, QSpinBox:focus, QDoubleSpinBox:focus, QPlainTextEdit:focus, QListView:focus, QTableView:focus, QTreeView:focus
      { border: 2px solid OCHRE; }
    QLineEdit[wrong="true"], QPlainTextEdit[wrong="true"] { border: 2px solid OXIDE; }
    QCheckBox { spacing: 6px; }
    QCheckBox::indicator { width: 13px; height: 13px; border: 1px solid FAINT; background: PAPER; }
    QCheckBox::indicator:hover { border-color: INK; }
    QCheckBox::indicator:focus { border: 2px solid OCHRE; width: 11px; height: 11px; }
    QCheckBox::indicator:disabled { border-color: EDGE; background: PANEL; }
    QCheckBox::indicator:checked { image: url(:/icons/CHECK.svg); }
    QComboBox { padding: 3px 5px; }
    QComboBox::drop-down { border: none; width: 20px; }
    QComboBox::down-arrow { image: url(:/icons/down.svg); width: 12px; height: 12px; }
    QScrollArea, QScrollArea > QWidget > QWidget { background: transparent; }
    QScrollBar:vertical { background: transparent; width: 11px; margin: 0; }
    QScrollBar:horizontal { background: transparent; height: 11px; margin: 0; }
    QScrollBar::handle { background: EDGE; margin: 2px; }
    QScrollBar::handle:vertical { min-height: 28px; }
    QScrollBar::handle:horizontal { min-width: 28px; }
    QScrollBar::handle:hover { background: FAINT; }
    QScrollBar::add-line, QScrollBar::sub-line { width: 0; height: 0; }
    QScrollBar::add-page, QScrollBar::sub-page { background: transparent; }
    QListWidget::item { padding: 3px 2px; }
    QFrame#drawer { background: PANEL; border: none; border-top: 1px solid EDGE; border-bottom: 1px solid EDGE; }
    QHeaderView::section { background: PANEL; color: INK; border: none; border-bottom: 1px solid EDGE; padding: 4px; }
    QSplitter::handle { background: EDGE; }
    QProgressBar { border: 1px solid EDGE; background: PAPER; color: INK; text-align: center; max-height: 14px; }
    QProgressBar::chunk { background: CHOSEN; }
    QSlider::groove:horizontal { height: 2px; background: EDGE; }
    QSlider::handle:horizontal { width: 10px; margin: -8px 0; background: INK; }
    QSlider::handle:horizontal:focus { background: OCHRE; }
  )");
  const ChartLook& c = look.chart;
  const std::pair<const char*, QColor> colors[] = {
      {"PAPER", c.paper},       {"PANEL", look.panel}, {"EDGE", look.edge}, {"INK", c.ink},          {"FAINT", c.faint_ink},
      {"LIMIT", c.oxide_print}, {"OXIDE", c.oxide},    {"OCHRE", c.ochre},  {"CHOSEN", look.chosen}, {"DIM", Mix(c.ink, c.paper, 0.42)},
  };
  style.replace(QLatin1String("CHECK"), QLatin1String(c.night ? "check_night" : "check"));
  for (const auto& [word, color] : colors) style.replace(QLatin1String(word), color.name());
  return style;
}

}  // namespace islebook
