#include "ui/desktop/frame/deed.h"

#include <QAbstractButton>
#include <QAction>
#include <QToolButton>
#include <QWidget>

namespace islebook {
namespace {

constexpr char kTwin[] = "command_line_twin";

void Tell(QAction* action) {
  QStringList lines = {action->text()};
  if (!action->shortcut().isEmpty()) lines[0] += QStringLiteral("  [") + action->shortcut().toString(QKeySequence::NativeText) + QStringLiteral("]");
  if (const QString twin = TwinOf(action); !twin.isEmpty()) lines << twin;
  action->setToolTip(lines.join(QLatin1Char('\n')));
}

}  // namespace

QAction* MakeDeed(QWidget* owner, const Deed& deed) {
  auto* action = new QAction(deed.words, owner);
  action->setObjectName(deed.id);
  action->setShortcut(deed.key);
  action->setShortcutContext(Qt::WidgetWithChildrenShortcut);
  owner->addAction(action);
  SetTwin(action, deed.twin);
  return action;
}

void SetTwin(QAction* action, const QString& twin) {
  action->setProperty(kTwin, twin);
  Tell(action);
}

QString TwinOf(const QAction* action) { return action->property(kTwin).toString(); }

std::vector<QAction*> DeedsWithin(const QWidget* window) {
  std::vector<QAction*> deeds;
  for (QAction* action : window->findChildren<QAction*>())
    if (action->property(kTwin).isValid()) deeds.push_back(action);
  return deeds;
}

QToolButton* DeedButton(QAction* action, QWidget* parent) {
  auto* button = new QToolButton(parent);
  button->setDefaultAction(action);
  button->setToolButtonStyle(action->icon().isNull() ? Qt::ToolButtonTextOnly : Qt::ToolButtonTextBesideIcon);
  button->setFocusPolicy(Qt::StrongFocus);
  button->setAccessibleName(action->text());
  return button;
}

bool PressButton(const QWidget* within, const QString& name) {
  for (QAbstractButton* button : within->findChildren<QAbstractButton*>(name)) {
    if (!button->isVisibleTo(within) || !button->isEnabled()) continue;
    button->click();
    return true;
  }
  return false;
}

}  // namespace islebook
