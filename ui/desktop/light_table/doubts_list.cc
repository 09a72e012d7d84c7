#include "ui/desktop/light_table/doubts_list.h"
#include "ui/chart/said.h"

#include <algorithm>

#include <QCoreApplication>
#include <QSignalBlocker>

namespace islebook {
namespace {

struct TopLine {
  Q_DECLARE_TR_FUNCTIONS(TopLine)
};

}  // namespace

DoubtsList::DoubtsList(QWidget* parent) : QListWidget(parent) {
  setObjectName("doubts");
  setWordWrap(true);
  setUniformItemSizes(false);
  setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  setVerticalScrollMode(QAbstractItemView::ScrollPerPixel);
  setMinimumHeight(90);
  connect(this, &QListWidget::currentRowChanged, this, &DoubtsList::Visit);
  connect(this, &QListWidget::itemClicked, this, [this](QListWidgetItem* item) { Visit(row(item)); });
  connect(this, &QListWidget::itemActivated, this, [this](QListWidgetItem* item) { Visit(row(item)); });
}

void DoubtsList::SetMap(const PerformanceMap* map) {
  const QSignalBlocker quiet(this);
  clear();
  doubts_.clear();
  if (map == nullptr) return;
  doubts_ = NumberDoubts(*map);
  for (const ChartDoubt& doubt : doubts_) addItem(QStringLiteral("%1  %2").arg(doubt.number).arg(Said(doubt.words)));
}

void DoubtsList::Visit(int row) {
  if (row >= 0 && row < static_cast<int>(doubts_.size())) emit Visited(doubts_[static_cast<std::size_t>(row)]);
}

void DoubtsList::Step(int by) {
  if (count() == 0) return;
  const int from = currentRow();
  const int to = from < 0 ? (by > 0 ? 0 : count() - 1) : (from + by + count()) % count();
  if (to == from)
    Visit(to);
  else
    setCurrentRow(to);
}

void DoubtsList::ShowCurve(std::optional<std::size_t> curve) {
  const QSignalBlocker quiet(this);
  if (currentRow() >= 0 && !curve && doubts_[static_cast<std::size_t>(currentRow())].curve < 0)
    return;  // it is about the sheet, and so no curve is chosen
  if (currentRow() >= 0 && curve && doubts_[static_cast<std::size_t>(currentRow())].curve == static_cast<std::ptrdiff_t>(*curve)) return;
  const auto at = std::ranges::find_if(doubts_, [&](const ChartDoubt& doubt) { return curve && doubt.curve == static_cast<std::ptrdiff_t>(*curve); });
  setCurrentRow(at == doubts_.end() ? -1 : static_cast<int>(at - doubts_.begin()));
}

void DoubtsList::resizeEvent(QResizeEvent* event) {
  QListWidget::resizeEvent(event);
  scheduleDelayedItemsLayout();  // words wrap anew
}

QString TopLineOf(const PerformanceMap& map) {
  const auto curves = static_cast<int>(std::ranges::count_if(map.curves, [](const Curve& curve) { return curve.needs_review; }));
  const auto others = static_cast<int>(map.needs_review.size());
  if (map.curves.empty()) return TopLine::tr("No curves on this sheet");
  if (curves == 0 && others == 0) return TopLine::tr("Nothing to look at");
  if (curves == 0)
    return others == 1 ? TopLine::tr("1 thing about the sheet needs a look") : TopLine::tr("%1 things about the sheet need a look").arg(others);
  const QString words = curves == 1 ? TopLine::tr("1 curve needs a look") : TopLine::tr("%1 curves need a look").arg(curves);
  return others == 0   ? words
         : others == 1 ? TopLine::tr("%1, and 1 thing about the sheet").arg(words)
                       : TopLine::tr("%1, and %2 things about the sheet").arg(words).arg(others);
}

}  // namespace islebook
