#include "ui/desktop/shelf_room/key_deeds.h"

#include <QCoreApplication>
#include <QFileInfo>

#include "mapstore/map/whole_file.h"
#include "mapstore/parcel/key_ring.h"
#include "mapstore/parcel/signature.h"
#include "ui/desk/parcel_words.h"

namespace islebook {
namespace {

struct Words {
  Q_DECLARE_TR_FUNCTIONS(KeyDeeds)
};

QString Text(const std::string& text) { return QString::fromStdString(text); }

constexpr std::size_t kMostKeyBytes = 10'000;

}  // namespace

Result<KeyWords> ReadKeys() {
  const Result<KeyRing> ring = KeyRing::Open(DefaultKeyFolder());
  if (!ring) return std::unexpected(ring.error());
  KeyWords words;
  if (ring->Own()) {
    words.own_name = Text(ring->Own()->name);
    words.own_key = Text(KeyInGroups(ring->Own()->public_key));
  }
  for (const TrustedKey& key : ring->Trusted()) words.trusted.push_back({Text(PlainText(key.name)), Text(KeyInGroups(key.public_key))});
  return words;
}

Result<void> MakeShopKey(const QString& name) {
  Result<KeyRing> ring = KeyRing::Open(DefaultKeyFolder());
  if (!ring) return std::unexpected(ring.error());
  if (const Result<void> good = CheckSignerName(name.toStdString()); !good) return good;
  if (const Result<SigningKey> made = ring->MakeOwn(name.toStdString()); !made) return std::unexpected(made.error());
  return {};
}

Result<void> WriteShopKey(const std::filesystem::path& file) {
  const Result<KeyRing> ring = KeyRing::Open(DefaultKeyFolder());
  if (!ring) return std::unexpected(ring.error());
  if (!ring->Own()) return Fail(ErrorCode::kNoKey, "this shop has no key yet.", DefaultKeyFolder().string());
  return ReplaceFileContents(file, PublicKeyLine({ring->Own()->public_key, ring->Own()->name}));
}

Result<QString> TrustKey(const QString& key, const QString& name) {
  Result<KeyRing> ring = KeyRing::Open(DefaultKeyFolder());
  if (!ring) return std::unexpected(ring.error());
  std::string text = key.toStdString();
  if (QFileInfo(key).isFile()) {
    const Result<std::string> read = ReadFileContents(text, kMostKeyBytes);
    if (!read) return std::unexpected(read.error());
    text = *read;
  }
  Result<TrustedKey> trusted = ParsePublicKey(text);
  if (!trusted) return std::unexpected(trusted.error());
  if (!name.isEmpty()) trusted->name = name.toStdString();
  if (trusted->name.empty()) return Fail(ErrorCode::kInvalidArgument, "say whose key it is: the name of that shop.");
  if (ring->Own() && ring->Own()->public_key == trusted->public_key)
    return Fail(ErrorCode::kInvalidArgument, "this is the shop's own key, which is trusted anyway.");
  const Result<bool> done = ring->Trust(*trusted);
  if (!done) return std::unexpected(done.error());
  const QString words = Text(PlainText(trusted->name));
  return *done ? Words::tr("Trusted from now on as %1.").arg(words) : Words::tr("It was trusted as %1 already.").arg(words);
}

Result<void> ForgetKey(const QString& key) {
  Result<KeyRing> ring = KeyRing::Open(DefaultKeyFolder());
  if (!ring) return std::unexpected(ring.error());
  if (const Result<bool> done = ring->Forget(key.toStdString()); !done) return std::unexpected(done.error());
  return {};
}

}  // namespace islebook
