#pragma once
// What opens above the chart for taking over a colleague's table, and for the keys that say who packed a parcel.

#include <memory>
#include <vector>

#include <QWidget>

#include "ui/desk/table_import.h"

class QLabel;
class QLineEdit;
class QListWidget;
class QPushButton;

namespace islebook {

// A table of curves that was read: what it would change, before anything does.
class ImportPage : public QWidget {
  Q_OBJECT

 public:
  explicit ImportPage(QWidget* parent);
  void Show(std::shared_ptr<const Import> import, const ImportOrder& order);
  // It could not be read as it says; it may still be a correction of the chosen map, or a map of its own.
  void ShowRefused(const ImportOrder& order, const QString& why);
  const std::shared_ptr<const Import>& import() const { return import_; }

 signals:
  void KeepAsked();
  void ReadAsked(const islebook::ImportOrder& order);  // once more, otherwise
  void ReadForChosenAsked(const islebook::ImportOrder& order);

 private:
  std::shared_ptr<const Import> import_;
  ImportOrder order_;
  QLabel *heading_, *lines_;
  QPushButton *keep_, *for_chosen_, *as_new_;
};

// The shop's own key and those of others that it trusts.
struct KeyWords {
  QString own_name, own_key;  // empty: none yet; the key in groups
  struct Trusted {
    QString name, key;
  };
  std::vector<Trusted> trusted;
};

class KeysPage : public QWidget {
  Q_OBJECT

 public:
  explicit KeysPage(QWidget* parent);
  void Show(const KeyWords& keys);
  void SetRemark(const QString& words, bool limit);
  void SetKey(const QString& key);

 signals:
  void MakeAsked(const QString& name);
  void HandOutAsked();                                       // the own key as a file
  void TrustAsked(const QString& key, const QString& name);  // a file, or the digits
  void ForgetAsked(const QString& key);
  void FileAsked();  // look for the key's file

 private:
  QLabel *own_, *remark_;
  QLineEdit *shop_, *key_, *name_;
  QPushButton *make_, *hand_out_, *trust_, *forget_;
  QListWidget* trusted_;
};

}  // namespace islebook
