#pragma once
// One line above the work that says something and offers what can be done about it. Hidden where there is nothing to say.

#include <QFrame>

class QHBoxLayout;
class QLabel;
class QPushButton;

namespace islebook {

class NoticeLine : public QFrame {
  Q_OBJECT

 public:
  NoticeLine(const QString& id, QWidget* parent);

  void Say(const QString& words);  // empty: hides the line
  QString words() const;
  QPushButton* AddButton(const QString& words, const QString& id);
  void AddControl(QWidget* control);

 private:
  QHBoxLayout* row_;
  QLabel* words_;
};

}  // namespace islebook
