namespace Acquire.Recording;

/// <summary>A file that a run's descriptor names.</summary>
/// <param name="Path">As the descriptor says it; whoever opens it checks it first, since anybody may have written the descriptor.</param>
/// <param name="Bytes">Its size; null where the descriptor does not say.</param>
/// <param name="Hash">Its hash, such as <c>sha256:…</c>; null where the descriptor does not say.</param>
public sealed record RunFile(string Path, long? Bytes, string? Hash);
