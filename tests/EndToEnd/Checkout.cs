namespace Acquire.EndToEnd.Tests;

/// <summary>Where things are in this checkout.</summary>
internal static class Checkout
{
    public static readonly string Root = FindRoot();

    public static readonly string Program = Path.Combine(AppContext.BaseDirectory, "acquire.dll");

    public static readonly string Player = Path.Combine(AppContext.BaseDirectory, "Acquire.Player.dll");

    public static readonly string DemoLibrary = Path.Combine(AppContext.BaseDirectory, "Acquire.DemoLibrary.dll");

    public static readonly string Bench = Built("hardware/bench/build/bench");

    public static readonly string Image = Built("hardware/firmware/build/acquire-board.elf");

    private static string FindRoot()
    {
        string? folder = AppContext.BaseDirectory;
        while (folder is not null && !File.Exists(Path.Combine(folder, "Acquire.sln")))
            folder = Path.GetDirectoryName(folder);
        return folder ?? throw new InvalidOperationException("The tests run from inside the checkout: no Acquire.sln above them.");
    }

    private static string Built(string path)
    {
        string full = Path.Combine(Root, path);
        return File.Exists(full) ? full : throw new FileNotFoundException($"{path} is not built: run 'make -C hardware/bench', or scripts/test, which does.");
    }
}
