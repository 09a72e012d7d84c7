#pragma once
// Under which name, by whom and with which words a map goes onto the shelf.

#include <QWidget>

class QLabel;
class QLineEdit;
class QPushButton;

namespace islebook {

class AcceptForm : public QWidget {
  Q_OBJECT

 public:
  explicit AcceptForm(QWidget* parent);

  // A name that a person has typed is left alone.
  void Propose(const QString& name, const QString& author);
  void Clear();
  void SetReady(bool ready);  // a map is there to be accepted
  void SetMessageHint(const QString& words);
  void EditName();
  void AddButton(QWidget* button);  // beside the one that accepts
  QPushButton* button() const { return button_; }

  QString name() const;
  QString author() const;
  QString message() const;  // the hint where nothing was typed

 signals:
  void Accepted();

 private:
  QLineEdit *name_, *author_, *message_;
  QPushButton* button_;
  bool ready_ = false;
};

}  // namespace islebook
