// The device's keys at rest: wrapped by a key of the system's key store that never leaves it.
//
// The rule: what can't be unwrapped any more counts as lost and is told; it never ends the app.
package chalkface.app

import android.security.keystore.KeyGenParameterSpec
import android.security.keystore.KeyProperties
import android.util.AtomicFile
import android.util.Log
import java.io.File
import java.security.GeneralSecurityException
import java.security.KeyStore
import javax.crypto.Cipher
import javax.crypto.KeyGenerator
import javax.crypto.SecretKey
import javax.crypto.spec.GCMParameterSpec

/** Keeps the keys' text, and the twelve words until they are on paper. */
class KeyKeeper(private val folder: File, private val wrapper: Wrapper = StoreWrapper(ALIAS)) {
    /** Wraps a short secret. */
    interface Wrapper {
        @Throws(GeneralSecurityException::class)
        fun wrap(secret: ByteArray): ByteArray

        @Throws(GeneralSecurityException::class)
        fun unwrap(wrapped: ByteArray): ByteArray
    }

    fun keep(text: String) = write(KEYS, text)

    fun read(): String? = read(KEYS)

    fun keepWords(text: String) = write(WORDS, text)

    fun words(): String? = read(WORDS)

    fun forgetWords() = AtomicFile(File(folder, WORDS)).delete()

    private fun write(name: String, text: String) {
        folder.mkdirs()
        val file = AtomicFile(File(folder, name))
        val wrapped = wrapper.wrap(text.toByteArray())
        val stream = file.startWrite()
        stream.write(wrapped)
        file.finishWrite(stream)
    }

    private fun read(name: String): String? {
        val file = File(folder, name)
        if (!file.isFile) return null
        return try {
            String(wrapper.unwrap(AtomicFile(file).readFully()))
        } catch (lost: Exception) {
            // The store's own failures are of many kinds, unchecked ones among them.
            Log.w("chalkface", "a wrapped secret can't be read", lost)
            null
        }
    }

    companion object {
        const val ALIAS = "chalkface"
        private const val KEYS = "keys"
        private const val WORDS = "words"
    }
}

/** AES-GCM with a key of the Android key store. */
class StoreWrapper(private val alias: String) : KeyKeeper.Wrapper {
    private fun known(): SecretKey? = KeyStore.getInstance(STORE).apply { load(null) }.getKey(alias, null) as SecretKey?

    private fun made(): SecretKey {
        val purposes = KeyProperties.PURPOSE_ENCRYPT or KeyProperties.PURPOSE_DECRYPT
        val spec = KeyGenParameterSpec.Builder(alias, purposes)
            .setBlockModes(KeyProperties.BLOCK_MODE_GCM)
            .setEncryptionPaddings(KeyProperties.ENCRYPTION_PADDING_NONE)
            .setKeySize(256)
            .build()
        return KeyGenerator.getInstance(KeyProperties.KEY_ALGORITHM_AES, STORE).apply { init(spec) }.generateKey()
    }

    override fun wrap(secret: ByteArray): ByteArray {
        val cipher = Cipher.getInstance(CIPHER).apply { init(Cipher.ENCRYPT_MODE, known() ?: made()) }
        return cipher.iv + cipher.doFinal(secret)
    }

    override fun unwrap(wrapped: ByteArray): ByteArray {
        if (wrapped.size <= IV) throw GeneralSecurityException("cut short")
        val key = known() ?: throw GeneralSecurityException("the store has no such key")
        val cipher = Cipher.getInstance(CIPHER)
        cipher.init(Cipher.DECRYPT_MODE, key, GCMParameterSpec(TAG_BITS, wrapped, 0, IV))
        return cipher.doFinal(wrapped, IV, wrapped.size - IV)
    }

    private companion object {
        const val STORE = "AndroidKeyStore"
        const val CIPHER = "AES/GCM/NoPadding"
        const val IV = 12
        const val TAG_BITS = 128
    }
}
