#include "ui/desktop/light_table/curve_facts.h"

#include <algorithm>
#include <cmath>
#include <map>

#include <QComboBox>
#include <QCoreApplication>
#include <QGridLayout>
#include <QLabel>
#include <QLineEdit>
#include <QRegularExpression>
#include <QStyle>

#include "mapstore/units/typed_value.h"
#include "ui/chart/chart_words.h"
#include "ui/chart/said.h"
#include "ui/desk/curve_place.h"

namespace islebook {
namespace {

struct Roles {
  Q_DECLARE_TR_FUNCTIONS(RoleWords)
};

bool IsSpeed(CurveRole role) { return role == CurveRole::kSpeedLine; }

// What most curves of this role carry, else what the trade usually prints.
std::string UsualUnit(const PerformanceMap& map, CurveRole role, double value) {
  std::map<std::string, int> seen;
  for (const Curve& curve : map.curves)
    if (curve.role == role && !curve.unit.empty()) ++seen[curve.unit];
  if (!seen.empty()) return std::ranges::max_element(seen, {}, [](const auto& entry) { return entry.second; })->first;
  if (IsSpeed(role)) return value < 1000 ? "krpm" : "rpm";
  if (role == CurveRole::kFlowLine || role == CurveRole::kEfficiencyLine) return value > 1000 ? "rpm" : "1";
  return value > 1.0 ? "%" : "1";
}

// "90,000" is how large numbers are printed here; where a number can be meant either way the parser asks back.
QString WithoutThousands(QString text) {
  static const QRegularExpression grouped(QStringLiteral("^\\s*\\d{2,3}(,\\d{3})+(?![\\d,])"));
  if (const auto match = grouped.match(text); match.hasMatch()) text.replace(0, match.capturedLength(), match.captured().remove(QLatin1Char(',')));
  return text;
}

}  // namespace

std::span<const CurveRole> RolesOf(std::optional<MapKind> kind) {
  static constexpr CurveRole kCompressor[] = {CurveRole::kSpeedLine, CurveRole::kSurgeLine, CurveRole::kChokeLine, CurveRole::kEfficiencyIsland,
                                              CurveRole::kOther};
  static constexpr CurveRole kTurbine[] = {CurveRole::kFlowLine, CurveRole::kEfficiencyLine, CurveRole::kOther};
  return kind == MapKind::kTurbine ? std::span<const CurveRole>(kTurbine) : std::span<const CurveRole>(kCompressor);
}

QString RoleWords(CurveRole role) {
  switch (role) {
    case CurveRole::kSpeedLine: return Roles::tr("Speed line");
    case CurveRole::kSurgeLine: return Roles::tr("Surge line");
    case CurveRole::kChokeLine: return Roles::tr("Choke line");
    case CurveRole::kEfficiencyIsland: return Roles::tr("Efficiency island");
    case CurveRole::kFlowLine: return Roles::tr("Flow line");
    case CurveRole::kEfficiencyLine: return Roles::tr("Efficiency line");
    case CurveRole::kOther: break;
  }
  return Roles::tr("Other curve");
}

CurveFacts::CurveFacts(QWidget* parent)
    : QWidget(parent),
      name_(new QLabel(this)),
      role_(new QComboBox(this)),
      value_(new QLineEdit(this)),
      unit_(new QLabel(this)),
      facts_(new QLabel(this)) {
  auto* grid = new QGridLayout(this);
  grid->setContentsMargins(0, 0, 0, 0);
  grid->setVerticalSpacing(4);
  name_->setObjectName("curve_name");
  name_->setWordWrap(true);
  grid->addWidget(name_, 0, 0, 1, 3);
  role_->setObjectName("curve_role");
  role_->setAccessibleName(tr("What the chosen curve is"));
  grid->addWidget(role_, 1, 0, 1, 3);
  auto* words = new QLabel(tr("Value"), this);
  words->setBuddy(value_);
  grid->addWidget(words, 2, 0);
  value_->setObjectName("curve_value");
  value_->setAccessibleName(tr("Value of the chosen curve"));
  value_->setPlaceholderText(tr("none"));
  grid->addWidget(value_, 2, 1);
  grid->addWidget(unit_, 2, 2);
  grid->setColumnStretch(1, 1);
  facts_->setObjectName("curve_facts");
  facts_->setProperty("faint", true);
  facts_->setWordWrap(true);
  grid->addWidget(facts_, 3, 0, 1, 3);
  connect(role_, &QComboBox::activated, this, [this](int index) {
    emit RoleGiven(static_cast<CurveRole>(role_->itemData(index).toInt()));
    emit LeftEditing();
  });
  connect(value_, &QLineEdit::returnPressed, this, &CurveFacts::TakeValue);
  SetCurve(nullptr, std::nullopt);
}

void CurveFacts::SetCurve(std::shared_ptr<const PerformanceMap> map, std::optional<std::size_t> curve) {
  map_ = std::move(map);
  curve_ = map_ && curve && *curve < map_->curves.size() ? curve : std::nullopt;
  for (QWidget* widget : {static_cast<QWidget*>(role_), static_cast<QWidget*>(value_), static_cast<QWidget*>(unit_)})
    widget->setEnabled(curve_.has_value());
  value_->setProperty("wrong", false);
  value_->style()->polish(value_);
  role_->clear();
  value_->clear();
  unit_->clear();
  if (!curve_) {
    name_->setText(map_ ? tr("None. Click a curve, or press Page Down.") : tr("None."));
    facts_->clear();
    return;
  }
  const Curve& chosen = map_->curves[*curve_];
  name_->setText(Said(CurveWords(chosen)));
  for (const CurveRole role : RolesOf(map_->kind)) role_->addItem(RoleWords(role), static_cast<int>(role));
  if (role_->findData(static_cast<int>(chosen.role)) < 0) role_->addItem(RoleWords(chosen.role), static_cast<int>(chosen.role));
  role_->setCurrentIndex(role_->findData(static_cast<int>(chosen.role)));
  if (chosen.value) value_->setText(QString::number(*chosen.value, 'g', 10));
  unit_->setText(QString::fromStdString(chosen.unit == "1" ? "" : UnitWords(chosen.unit)));
  QStringList facts{tr("%1 points").arg(chosen.points.size())};
  if (const auto sigma = MedianSigmaPx(*map_, *curve_)) facts << tr("\u00b1%1 px").arg(*sigma, 0, 'f', *sigma < 0.095 ? 2 : 1);
  facts << tr("confidence %1").arg(chosen.confidence, 0, 'f', 2);
  if (chosen.closed) facts << tr("closed");
  facts_->setText(facts.join(QStringLiteral(", ")));
}

void CurveFacts::EditValue(const QString& first) {
  if (!curve_) {
    emit Refused(tr("Choose a curve first, then type its value."));
    return;
  }
  value_->setFocus(Qt::ShortcutFocusReason);
  value_->selectAll();
  if (!first.isEmpty()) value_->insert(first);
}

void CurveFacts::TakeValue() {
  if (!curve_) return;
  const auto refuse = [&](const QString& reason) {
    value_->setProperty("wrong", true);
    value_->style()->unpolish(value_);
    value_->style()->polish(value_);
    emit Refused(reason);
  };
  const QString text = WithoutThousands(value_->text().trimmed());
  if (text.isEmpty()) {
    emit LeftEditing();
    emit Relabeled(std::nullopt, {});
    return;
  }
  const Curve& chosen = map_->curves[*curve_];
  const auto typed = ParseTypedValue(text.toStdString(), Unit{});
  if (!typed) return refuse(tr("The value: %1").arg(QString::fromStdString(typed.error().message)));
  double value = typed->value;
  std::string unit = chosen.unit.empty() ? UsualUnit(*map_, chosen.role, value) : chosen.unit;
  const bool has_unit = text.contains(QRegularExpression(QStringLiteral("[A-Za-z%/]")));
  if (has_unit) {
    const auto choice = ToDocumentUnit(typed->unit);
    if (!choice) return refuse(tr("A curve's value has no such unit: give rpm, krpm, m/s, % or none."));
    unit = choice->unit;
    value *= choice->multiply;
  }
  emit LeftEditing();
  emit Relabeled(value, QString::fromStdString(unit));
}

}  // namespace islebook
