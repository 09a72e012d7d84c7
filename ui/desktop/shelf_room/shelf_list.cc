#include "ui/desktop/shelf_room/shelf_list.h"

#include <algorithm>

#include <QPainter>

#include "ui/desktop/frame/workplace.h"

namespace islebook {
namespace {

constexpr QSize kPicture{104, 78};
constexpr int kPad = 8;

}  // namespace

ShelfRowPainter::ShelfRowPainter(Workplace& workplace, MapPictures& pictures, QObject* parent)
    : QStyledItemDelegate(parent), workplace_(workplace), pictures_(pictures) {}

QSize ShelfRowPainter::sizeHint(const QStyleOptionViewItem& option, const QModelIndex&) const {
  const int words = option.fontMetrics.lineSpacing() * 4;
  return {260, std::max(kPicture.height(), words) + 2 * kPad};
}

void ShelfRowPainter::paint(QPainter* painter, const QStyleOptionViewItem& option, const QModelIndex& index) const {
  const DeskLook& look = workplace_.look();
  const auto row = index.data(ShelfRows::kRow).value<ShelfRow>();
  const bool chosen = option.state.testFlag(QStyle::State_Selected);
  painter->save();
  painter->fillRect(option.rect, chosen ? look.chosen : look.chart.paper);
  painter->setPen(look.edge);
  painter->drawLine(option.rect.bottomLeft(), option.rect.bottomRight());
  if (chosen) painter->fillRect(QRect(option.rect.topLeft(), QSize(4, option.rect.height())), look.chart.ochre);

  const QRect place(option.rect.left() + kPad + 2, option.rect.top() + kPad, kPicture.width(), kPicture.height());
  const QImage picture = pictures_.PictureOf(row.revision, kPicture, painter->device()->devicePixelRatioF(), workplace_.night());
  if (!picture.isNull()) painter->drawImage(place, picture);
  painter->setPen(look.edge);
  painter->drawRect(place.adjusted(0, 0, -1, -1));

  const QFontMetrics plain(option.font);
  QFont bold_font = option.font;
  bold_font.setBold(true);
  const QFontMetrics bold(bold_font);
  const int left = place.right() + 12, width = option.rect.right() - left - kPad;
  int y = option.rect.top() + kPad;
  const auto line = [&](const QString& words, const QColor& color, const QFont& font, const QFontMetrics& metrics, int less = 0) {
    painter->setFont(font);
    painter->setPen(color);
    painter->drawText(left, y + metrics.ascent(), metrics.elidedText(words, Qt::ElideRight, width - less));
    y += plain.lineSpacing() + 2;
  };
  const QString letter = index.data(ShelfRows::kLetter).toString();
  if (!letter.isEmpty()) {
    const QRect disc(option.rect.right() - kPad - 20, y, 20, 20);
    painter->setRenderHint(QPainter::Antialiasing);
    painter->setPen(Qt::NoPen);
    painter->setBrush(look.chart.ink);
    painter->drawEllipse(disc);
    painter->setFont(bold_font);
    painter->setPen(look.chart.paper);
    painter->drawText(disc, Qt::AlignCenter, letter);
  }
  line(row.name, look.chart.ink, bold_font, bold, letter.isEmpty() ? 0 : 26);
  line(row.found.isEmpty() ? row.title : row.found, row.found.isEmpty() ? look.chart.ink : look.chart.sea_print, option.font, plain);
  line(row.wheel.isEmpty() ? row.kind : row.wheel, look.chart.faint_ink, option.font, plain);
  QStringList history = {row.time.left(10)};
  if (!row.tags.isEmpty()) history << row.tags.join(QStringLiteral(", "));
  if (row.revisions > 1) history << tr("%1 revisions").arg(row.revisions);
  if (row.branches > 0) history << Counted(row.branches, tr("%1 branch"), tr("%1 branches"));
  line(history.join(QStringLiteral("  \u00b7  ")), look.chart.faint_ink, option.font, plain);
  if (option.state.testFlag(QStyle::State_HasFocus)) {
    painter->setRenderHint(QPainter::Antialiasing, false);
    painter->setBrush(Qt::NoBrush);
    painter->setPen(QPen(look.chart.ochre, 2));
    painter->drawRect(option.rect.adjusted(1, 1, -1, -2));
  }
  painter->restore();
}

ShelfList::ShelfList(Workplace& workplace, QWidget* parent) : QListView(parent), pictures_(workplace.shelf_file(), this) {
  setObjectName("shelf_list");
  setAccessibleName(tr("Maps on the shelf"));
  setModel(&rows_);
  setItemDelegate(new ShelfRowPainter(workplace, pictures_, this));
  setUniformItemSizes(true);
  setSelectionMode(QAbstractItemView::ExtendedSelection);
  setVerticalScrollMode(QAbstractItemView::ScrollPerPixel);
  setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  setDragEnabled(true);
  setDragDropMode(QAbstractItemView::DragOnly);
  setMinimumWidth(280);
  connect(&pictures_, &MapPictures::Drawn, viewport(), qOverload<>(&QWidget::update));
}

QStringList ShelfList::ChosenNames() const {
  QModelIndexList chosen = selectionModel()->selectedIndexes();
  std::sort(chosen.begin(), chosen.end());
  QStringList names;
  for (const QModelIndex& at : chosen) names << at.data().toString();
  return names;
}

bool ShelfList::Choose(const QStringList& names) {
  QItemSelection selection;
  QModelIndex first;
  for (const QString& name : names) {
    const int row = rows_.RowNamed(name);
    if (row < 0) continue;
    const QModelIndex at = rows_.index(row);
    selection.select(at, at);
    if (!first.isValid()) first = at;
  }
  if (first.isValid()) selectionModel()->setCurrentIndex(first, QItemSelectionModel::NoUpdate);
  selectionModel()->select(selection, QItemSelectionModel::ClearAndSelect);
  if (first.isValid()) scrollTo(first);
  return first.isValid();
}

void ShelfList::ShowRows(std::vector<ShelfRow> rows) {
  const QStringList chosen = ChosenNames();
  const QString current = currentIndex().data().toString();
  holding_ = true;
  rows_.SetRows(std::move(rows));
  if (ChosenNames() != chosen) Choose(chosen);
  if (const int row = rows_.RowNamed(current); row >= 0 && currentIndex().row() != row)
    selectionModel()->setCurrentIndex(rows_.index(row), QItemSelectionModel::NoUpdate);
  holding_ = false;
  if (ChosenNames() != chosen) emit ChosenChanged();
}

void ShelfList::selectionChanged(const QItemSelection& now, const QItemSelection& before) {
  QListView::selectionChanged(now, before);
  if (!holding_) emit ChosenChanged();
}

}  // namespace islebook
