#include "ui/desktop/bench_room/verdict_table.h"

#include <algorithm>
#include <cmath>

#include <QHeaderView>
#include <QMimeData>

#include "mapstore/bench/shop_units.h"
#include "ui/chart/said.h"
#include "ui/desktop/bench_room/reading_words.h"
#include "ui/desktop/frame/workplace.h"

namespace islebook {
namespace {

constexpr int kPointRole = Qt::UserRole, kStageRole = Qt::UserRole + 1;

const Verdict* Worst(const PointResult& point, const StageResult* stage) {
  const Verdict* worst = nullptr;
  const auto look = [&worst](const std::vector<Verdict>& verdicts) {
    for (const Verdict& verdict : verdicts)
      if (worst == nullptr || verdict.grade > worst->grade || (verdict.grade == worst->grade && verdict.shortfall > worst->shortfall))
        worst = &verdict;
  };
  if (stage != nullptr) look(stage->verdicts);
  look(point.verdicts);
  return worst;
}

QString Bare(QString text) { return text.replace('\t', ' ').replace('\n', ' '); }

}  // namespace

VerdictTable::VerdictTable(Workplace& workplace, QWidget* parent) : QTableWidget(parent), workplace_(workplace) {
  setObjectName("verdict_table");
  setAccessibleName(tr("Verdicts"));
  setSelectionBehavior(QAbstractItemView::SelectRows);
  setSelectionMode(QAbstractItemView::SingleSelection);
  setEditTriggers(QAbstractItemView::NoEditTriggers);
  setTabKeyNavigation(false);
  setShowGrid(false);
  setWordWrap(false);
  setTextElideMode(Qt::ElideRight);
  setDragEnabled(true);
  setDragDropMode(QAbstractItemView::DragOnly);
  verticalHeader()->hide();
  verticalHeader()->setDefaultSectionSize(24);
  horizontalHeader()->setHighlightSections(false);
  horizontalHeader()->setDefaultAlignment(Qt::AlignLeft | Qt::AlignVCenter);
  connect(this, &QTableWidget::itemSelectionChanged, this, [this] {
    if (filling_) return;
    chosen_by_hand_ = true;
    emit PointChosen(ChosenPoint());
  });
  connect(&workplace_, &Workplace::LookChanged, this, [this] { Fill(); });
}

int VerdictTable::ChosenPoint() const {
  const int row = currentRow();
  return row >= 0 && item(row, 0) != nullptr ? item(row, 0)->data(kPointRole).toInt() : -1;
}

void VerdictTable::ChoosePoint(int point, int stage) {
  filling_ = true;
  int found = -1;
  for (int row = 0; row < rowCount(); ++row)
    if (item(row, 0)->data(kPointRole).toInt() == point && (found < 0 || item(row, 0)->data(kStageRole).toInt() == stage)) found = row;
  if (found >= 0) {
    setCurrentCell(found, 0);
    selectRow(found);
    scrollToItem(item(found, 0));
  }
  filling_ = false;
  chosen_by_hand_ = true;
  emit PointChosen(ChosenPoint());
}

void VerdictTable::Show(const BenchResult& result) {
  const int row = currentRow();
  const int point = ChosenPoint(), stage = row >= 0 && item(row, 0) != nullptr ? item(row, 0)->data(kStageRole).toInt() : -1;
  const bool same = result.points.size() == result_.points.size() && result.maps.size() == result_.maps.size();
  result_ = result;
  if (!same) chosen_by_hand_ = false;
  Fill();
  const bool by_hand = chosen_by_hand_;
  if (by_hand && point >= 0 && point < static_cast<int>(result_.points.size()))
    ChoosePoint(point, stage);
  else
    ChoosePoint(std::max(result_.worst_point, 0), result_.worst_stage);
  chosen_by_hand_ = by_hand;
}

void VerdictTable::Fill() {
  filling_ = true;
  const int kept = currentRow();
  const bool stages = result_.maps.size() > 1, turbines = !result_.turbines.empty();
  const UnitHabit units = result_.asked.units;
  const Shop shop(units);
  QStringList heads = {tr("No."), tr("Point")};
  if (stages) heads << tr("Stage");
  heads << tr("Grade") << tr("What limits it") << tr("Surge margin") << tr("Choke margin") << tr("Speed, of limit") << tr("Efficiency")
        << tr("Outlet");
  if (turbines) heads << tr("Drive / boost");
  heads << tr("Boost") << tr("Air");
  clear();
  setColumnCount(static_cast<int>(heads.size()));
  setHorizontalHeaderLabels(heads);
  setRowCount(0);
  for (std::size_t i = 0; i < result_.points.size(); ++i) {
    const PointResult& point = result_.points[i];
    const std::size_t rows = point.failure.empty() ? point.stages.size() : 1;
    for (std::size_t k = 0; k < rows; ++k) {
      const int row = rowCount();
      insertRow(row);
      int column = 0;
      const auto put = [&](const QString& words, Grade grade = Grade::kRoom) {
        auto* cell = new QTableWidgetItem(words);
        cell->setData(kPointRole, static_cast<int>(i));
        cell->setData(kStageRole, static_cast<int>(k));
        cell->setToolTip(words);
        if (grade == Grade::kOver) cell->setForeground(workplace_.look().chart.oxide_print);
        if (grade == Grade::kOver || grade == Grade::kClose) {
          QFont font = cell->font();
          font.setBold(true);
          cell->setFont(font);
        }
        setItem(row, column++, cell);
      };
      put(k == 0 ? QString::number(i + 1) : QString());
      put(k == 0 ? QString::fromStdString(point.name) : QString());
      if (!point.failure.empty()) {
        if (stages) put({});
        put(tr("not worked out"), Grade::kOver);
        put(QString::fromStdString(point.failure));
        continue;
      }
      const StageResult& stage = point.stages[k];
      if (stages) put(QString::fromStdString(stage.name));
      Grade grade = Grade::kRoom;
      for (const Verdict& verdict : stage.verdicts) grade = std::max(grade, verdict.grade);
      for (const Verdict& verdict : point.verdicts) grade = std::max(grade, verdict.grade);
      put(GradeWords(grade), grade);
      const Verdict* worst = Worst(point, &stage);
      put(worst != nullptr && worst->grade != Grade::kRoom ? Said(worst->words) : tr("nothing"));
      for (const VerdictKind kind :
           {VerdictKind::kSurge, VerdictKind::kChoke, VerdictKind::kSpeed, VerdictKind::kEfficiency, VerdictKind::kOutletTemperature}) {
        const Verdict* verdict = FindVerdict(stage.verdicts, kind);
        put(verdict != nullptr && verdict->value ? VerdictNumber(*verdict, units) : QStringLiteral("-"),
            verdict != nullptr ? verdict->grade : Grade::kRoom);
      }
      if (turbines) {
        const Verdict* verdict = FindVerdict(point.verdicts, VerdictKind::kDriveRatio);
        put(verdict != nullptr && verdict->value ? VerdictNumber(*verdict, units) : QStringLiteral("-"),
            verdict != nullptr ? verdict->grade : Grade::kRoom);
      }
      put(QString::fromStdString(shop.Pressure(point.manifold_Pa - point.input.ambient.pressure_Pa)));
      put(QString::fromStdString(shop.Flow(point.air_flow_kg_s)));
    }
  }
  resizeColumnsToContents();
  for (int column = 0; column < columnCount(); ++column) setColumnWidth(column, std::min(columnWidth(column), column == 1 ? 190 : 240));
  if (kept >= 0 && kept < rowCount()) selectRow(kept);
  filling_ = false;
}

QStringList VerdictTable::mimeTypes() const { return {QStringLiteral("text/plain"), QStringLiteral("text/html")}; }

QMimeData* VerdictTable::mimeData(const QList<QTableWidgetItem*>&) const {
  auto* carried = new QMimeData;
  carried->setText(AsText());
  carried->setHtml(AsHtml());
  return carried;
}

QString VerdictTable::AsText() const {
  QString out;
  for (int column = 0; column < columnCount(); ++column) out += (column > 0 ? "\t" : "") + Bare(horizontalHeaderItem(column)->text());
  out += '\n';
  for (int row = 0; row < rowCount(); ++row) {
    for (int column = 0; column < columnCount(); ++column)
      out += (column > 0 ? QStringLiteral("\t") : QString()) + (item(row, column) != nullptr ? Bare(item(row, column)->text()) : QString());
    out += '\n';
  }
  return out;
}

QString VerdictTable::AsHtml() const {
  QString out = QStringLiteral("<table><tr>");
  for (int column = 0; column < columnCount(); ++column)
    out += QStringLiteral("<th>%1</th>").arg(horizontalHeaderItem(column)->text().toHtmlEscaped());
  out += QStringLiteral("</tr>");
  for (int row = 0; row < rowCount(); ++row) {
    out += QStringLiteral("<tr>");
    for (int column = 0; column < columnCount(); ++column)
      out += QStringLiteral("<td>%1</td>").arg(item(row, column) != nullptr ? item(row, column)->text().toHtmlEscaped() : QString());
    out += QStringLiteral("</tr>");
  }
  return out + QStringLiteral("</table>");
}

}  // namespace islebook
