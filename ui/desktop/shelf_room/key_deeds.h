#pragma once
// The shop's keys, read and changed: small files, quick enough for the window's own thread.

#include <filesystem>

#include "mapstore/units/error.h"
#include "ui/desktop/shelf_room/exchange_pages.h"

namespace islebook {

Result<KeyWords> ReadKeys();
Result<void> MakeShopKey(const QString& name);
// The public key, for those who are to trust this shop.
Result<void> WriteShopKey(const std::filesystem::path& file);
// `key`: a file or 64 digits. A sentence about what was done.
Result<QString> TrustKey(const QString& key, const QString& name);
Result<void> ForgetKey(const QString& key);

}  // namespace islebook
