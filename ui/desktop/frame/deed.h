#pragma once
// A deed: something a person can do in the window. Each has words, a key and its twin on the command line; the tooltip shows all three and the help page lists
// them, so that nothing has to be learned twice.

#include <vector>

#include <QKeySequence>
#include <QString>

class QAction;
class QToolButton;
class QWidget;

namespace islebook {

struct Deed {
  QString id;     // the action's object name: "light_table.cut"
  QString words;  // "Cut the curve here"
  QKeySequence key;
  QString twin;  // "islebook digitize --recipe FILE (cut_curve)"; where the command line has no use for it, why: "zooming is for the eye only"
};

// The action belongs to `owner` and its key works while the keyboard is anywhere within it.
QAction* MakeDeed(QWidget* owner, const Deed& deed);

// Puts the twin into words with what is at hand (file names).
void SetTwin(QAction* action, const QString& twin);
QString TwinOf(const QAction* action);

// Every deed within a window, in the order made.
std::vector<QAction*> DeedsWithin(const QWidget* window);

// A button that does the deed: with the words beneath or beside its icon where it has one.
QToolButton* DeedButton(QAction* action, QWidget* parent);

// For the deed's key where a button shows the way too: presses the first button of that name that is there and can be pressed. False: there is none.
bool PressButton(const QWidget* within, const QString& name);

}  // namespace islebook
