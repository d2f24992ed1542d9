package chalkface.app

import android.security.keystore.KeyGenParameterSpec
import java.io.InputStream
import java.io.OutputStream
import java.security.Key
import java.security.KeyStoreSpi
import java.security.Provider
import java.security.SecureRandom
import java.security.Security
import java.security.cert.Certificate
import java.security.spec.AlgorithmParameterSpec
import java.util.Collections
import java.util.Date
import java.util.Enumeration
import javax.crypto.KeyGeneratorSpi
import javax.crypto.SecretKey
import javax.crypto.spec.SecretKeySpec

/** A security provider that answers for "AndroidKeyStore" with keys held in memory. */
class FakeKeyStore private constructor() : Provider("AndroidKeyStore", 1.0, "for tests") {
    init {
        put("KeyStore.AndroidKeyStore", Store::class.java.name)
        put("KeyGenerator.AES", Aes::class.java.name)
    }

    class Store : KeyStoreSpi() {
        override fun engineLoad(s: InputStream?, p: CharArray?) = Unit
        override fun engineGetKey(alias: String, p: CharArray?): Key? = keys[alias]
        override fun engineContainsAlias(alias: String) = alias in keys
        override fun engineDeleteEntry(alias: String) { keys.remove(alias) }
        override fun engineAliases(): Enumeration<String> = Collections.enumeration(keys.keys.toList())
        override fun engineSize() = keys.size
        override fun engineIsKeyEntry(alias: String) = alias in keys
        override fun engineIsCertificateEntry(alias: String) = false
        override fun engineGetCertificate(alias: String): Certificate? = null
        override fun engineGetCertificateChain(alias: String): Array<Certificate>? = null
        override fun engineGetCertificateAlias(c: Certificate?): String? = null
        override fun engineGetCreationDate(alias: String): Date? = if (alias in keys) Date(0) else null
        override fun engineSetKeyEntry(a: String, k: Key, p: CharArray?, c: Array<out Certificate>?) = throw UnsupportedOperationException()
        override fun engineSetKeyEntry(a: String, k: ByteArray, c: Array<out Certificate>?) = throw UnsupportedOperationException()
        override fun engineSetCertificateEntry(a: String, c: Certificate?) = throw UnsupportedOperationException()
        override fun engineStore(s: OutputStream?, p: CharArray?) = throw UnsupportedOperationException()
    }

    class Aes : KeyGeneratorSpi() {
        private var spec: KeyGenParameterSpec? = null
        private var random = SecureRandom()

        override fun engineInit(r: SecureRandom?) = throw UnsupportedOperationException()
        override fun engineInit(size: Int, r: SecureRandom?) = throw UnsupportedOperationException()
        override fun engineInit(p: AlgorithmParameterSpec?, r: SecureRandom?) {
            spec = p as KeyGenParameterSpec
            if (r != null) random = r
        }

        override fun engineGenerateKey(): SecretKey {
            val s = spec!!
            val bytes = ByteArray(s.keySize / 8).also(random::nextBytes)
            return SecretKeySpec(bytes, "AES").also { keys[s.keystoreAlias] = it }
        }
    }

    companion object {
        private val keys = HashMap<String, SecretKey>()

        fun use(block: () -> Unit) {
            Security.insertProviderAt(FakeKeyStore(), 1)
            try { block() } finally { Security.removeProvider("AndroidKeyStore"); keys.clear() }
        }
    }
}
