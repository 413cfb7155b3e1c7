using System.Text.Json;
using System.Text.RegularExpressions;
using Xunit;

namespace Acquire.EndToEnd.Tests;

/// <summary>scripts/install-service and scripts/uninstall-service, with the files put under a folder of the test's own.</summary>
public sealed partial class InstallServiceTests : IDisposable
{
    private static readonly string Install = Path.Combine(Checkout.Root, "scripts/install-service");
    private static readonly string Uninstall = Path.Combine(Checkout.Root, "scripts/uninstall-service");
    private readonly string _root = Directory.CreateTempSubdirectory("acquire-install-").FullName;

    public void Dispose() => Directory.Delete(_root, recursive: true);

    [Fact]
    public void A_dry_run_says_each_step_and_does_none()
    {
        using var install = new Started(Install, "--dry-run", "--root", _root, "--from", AppContext.BaseDirectory);
        Assert.Equal(0, install.Wait(30));
        foreach (string path in new[] { "/opt/acquire", "/etc/systemd/system/acquire.service", "/etc/udev/rules.d/61-acquire-board.rules", "/etc/acquire/appsettings.json", "/var/lib/acquire" })
            Assert.Matches($"(?m)^would do: [^:]+: {Regex.Escape(_root + path)}( |$)", install.Output);
        Assert.Empty(Directory.GetFileSystemEntries(_root));
    }

    [Fact]
    public void What_is_installed_runs_and_to_install_it_again_changes_nothing_of_the_users()
    {
        InstallHere("--port", "/dev/ttyACM7", "--library", "/srv/spins");
        using (var version = new Started(At("/opt/acquire/acquire"), "--version"))
        {
            Assert.Equal(0, version.Wait(30));
            Assert.Equal("acquire 0.1.0\n", version.Output);
        }

        string settings = At("/etc/acquire/appsettings.json");
        Assert.Equal("/dev/ttyACM7", JsonDocument.Parse(File.ReadAllText(settings)).RootElement.GetProperty("Capture").GetProperty("Port").GetString());
        File.WriteAllText(settings, """{"Capture":{"Port":"/dev/mine"}}""");
        File.WriteAllText(At("/srv/spins/a run"), "");
        string[] files = Files();
        InstallHere("--port", "/dev/ttyACM8", "--library", "/srv/spins");
        Assert.Equal(files, Files());
        Assert.Contains("/dev/mine", File.ReadAllText(settings), StringComparison.Ordinal);

        string unit = File.ReadAllText(At("/etc/systemd/system/acquire.service"));
        Assert.DoesNotMatch(Placeholder(), unit);
        Assert.Contains("\nReadWritePaths=/srv/spins\n", unit, StringComparison.Ordinal);
        Assert.Contains("\nEnvironment=ACQUIRE_LIBRARY=/srv/spins\n", unit, StringComparison.Ordinal);
        Assert.Equal("/opt/acquire/acquire", File.ResolveLinkTarget(At("/usr/local/bin/acquire"), returnFinalTarget: false)!.FullName);
    }

    // I²C is open to the service only where a sensor of the air was named, now or when it was first installed.
    [Fact]
    public void A_sensor_of_the_air_opens_I2C_to_the_service_and_without_one_it_stays_shut()
    {
        const string Allow = "\nDeviceAllow=char-i2c rw\n";
        InstallHere();
        Assert.DoesNotContain("i2c", File.ReadAllText(At("/etc/systemd/system/acquire.service")), StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain("i2c", File.ReadAllText(At("/etc/modules-load.d/acquire.conf")), StringComparison.Ordinal);
        JsonElement without = JsonDocument.Parse(File.ReadAllText(At("/etc/acquire/appsettings.json"))).RootElement.GetProperty("Capture");
        Assert.Equal(["Port"], without.EnumerateObject().Select(p => p.Name));

        File.Delete(At("/etc/acquire/appsettings.json"));
        InstallHere("--air", "bmp280@1:0x76,sht4x@1:0x44");
        for (int i = 0; i < 2; i++)
        {
            Assert.Contains(Allow, File.ReadAllText(At("/etc/systemd/system/acquire.service")), StringComparison.Ordinal);
            Assert.EndsWith("\ni2c-dev\n", File.ReadAllText(At("/etc/modules-load.d/acquire.conf")), StringComparison.Ordinal);
            JsonElement with = JsonDocument.Parse(File.ReadAllText(At("/etc/acquire/appsettings.json"))).RootElement.GetProperty("Capture");
            Assert.Equal("bmp280@1:0x76,sht4x@1:0x44", with.GetProperty("Air").GetString());
            InstallHere();
        }
    }

    // As scripts/publish lays an archive out; no runtime is on the path.
    [Fact]
    public void Unpacked_from_an_archive_it_installs_the_program_that_lies_beside_and_needs_no_runtime()
    {
        string unpacked = Directory.CreateDirectory(Path.Combine(_root, "unpacked")).FullName;
        string scripts = Path.Combine(Checkout.Root, "scripts");
        Copy(Path.Combine(scripts, "service"), Path.Combine(unpacked, "service"));
        File.Copy(Install, Path.Combine(unpacked, "install"));
        Directory.CreateDirectory(Path.Combine(unpacked, "program"));
        foreach (string file in new[] { "acquire", "acquire.dll", "libcoreclr.so" })
            File.WriteAllText(Path.Combine(unpacked, "program", file), file);
        using var install = new Started(Path.Combine(unpacked, "install"), new Dictionary<string, string> { ["PATH"] = "/usr/bin:/bin" }, ["--root", _root]);
        Assert.True(install.Wait(60) == 0, install.Error);
        Assert.Equal("acquire.dll", File.ReadAllText(At("/opt/acquire/acquire.dll")));
        Assert.DoesNotContain("build the program", install.Output, StringComparison.Ordinal);
        Assert.False(Directory.Exists(At("/opt/acquire/runtime")));
    }

    [Fact]
    public void Uninstalling_leaves_the_runs_and_the_settings_and_may_be_done_twice()
    {
        InstallHere();
        File.WriteAllText(At("/var/lib/acquire/a run"), "");
        for (int i = 0; i < 2; i++)
        {
            using var uninstall = new Started(Uninstall, "--root", _root);
            Assert.Equal(0, uninstall.Wait(30));
            Assert.Contains("kept: the runs in ", uninstall.Output, StringComparison.Ordinal);
        }

        Assert.Equal(["etc/acquire/appsettings.json", "var/lib/acquire/a run"], Files());
    }

    [Fact]
    public void A_GPIO_line_takes_the_ports_place_in_the_settings_and_its_group_is_let_in()
    {
        InstallHere("--gpio", "pinctrl-rp1:GPIO17");
        JsonElement capture = JsonDocument.Parse(File.ReadAllText(At("/etc/acquire/appsettings.json"))).RootElement.GetProperty("Capture");
        Assert.Equal("pinctrl-rp1:GPIO17", capture.GetProperty("Gpio").GetString());
        Assert.False(capture.TryGetProperty("Port", out _));
        Assert.Contains("KERNEL==\"gpiochip[0-9]*\", GROUP=\"gpio\"", File.ReadAllText(At("/etc/udev/rules.d/61-acquire-gpio.rules")), StringComparison.Ordinal);
        Assert.Contains("\nDeviceAllow=char-gpiochip rw\n", File.ReadAllText(At("/etc/systemd/system/acquire.service")), StringComparison.Ordinal);

        using var uninstall = new Started(Uninstall, "--root", _root);
        Assert.Equal(0, uninstall.Wait(30));
        Assert.Equal(["etc/acquire/appsettings.json"], Files());
    }

    [Fact]
    public void The_unit_is_one_that_systemd_takes_and_rates_as_little_exposed()
    {
        InstallHere();
        Copy("/lib/systemd/system", At("/usr/lib/systemd/system"));
        using var verify = new Started("systemd-analyze", "verify", "--man=no", "--root=" + _root, "acquire.service");
        Assert.True(verify.Wait(30) == 0, verify.Error);
        Assert.DoesNotContain("acquire", verify.Error, StringComparison.Ordinal);

        // The exposure level is ten times what is printed; up to 2.0 is what systemd.exec's restrictions can do for a program that needs its ports.
        using var security = new Started("systemd-analyze", "security", "--offline=true", "--threshold=20", "--no-pager", At("/etc/systemd/system/acquire.service"));
        Assert.True(security.Wait(30) == 0, security.Output + security.Error);
    }

    [Theory]
    [InlineData("--library", "/home/me/spins")]
    [InlineData("--library", "spins")]
    [InlineData("--library", "/srv/my spins")]
    [InlineData("--library", "/etc")]
    [InlineData("--port", "/dev/\"x")]
    [InlineData("--gpio", "gpiochip0")]
    [InlineData("--gpio", "a:\"b")]
    [InlineData("--gpio", "0:17", "--port", "/dev/ttyACM0")]
    [InlineData("--air", "bme280@1|0x76")]
    [InlineData("--from", "/nowhere")]
    [InlineData("--port")]
    [InlineData("--prot", "x")]
    public void A_wrong_call_is_refused_before_anything_is_done(params string[] arguments)
    {
        using var install = new Started(Install, [.. arguments, "--root", _root]);
        Assert.Equal(2, install.Wait(30));
        Assert.StartsWith("install-service: ", install.Error, StringComparison.Ordinal);
        Assert.Empty(Directory.GetFileSystemEntries(_root));
    }

    private void InstallHere(params string[] arguments)
    {
        using var install = new Started(Install, ["--root", _root, "--from", AppContext.BaseDirectory, .. arguments]);
        Assert.True(install.Wait(60) == 0, install.Error);
    }

    private string At(string path) => _root + path;

    /// <summary>All files but the program's own.</summary>
    private string[] Files() =>
        [.. Directory.GetFiles(_root, "*", SearchOption.AllDirectories).Select(f => Path.GetRelativePath(_root, f))
            .Where(f => !f.StartsWith("opt/acquire/", StringComparison.Ordinal)).Order(StringComparer.Ordinal)];

    private static void Copy(string from, string to)
    {
        Directory.CreateDirectory(to);
        using var copy = new Started("cp", "-R", from + "/.", to);
        Assert.Equal(0, copy.Wait(30));
    }

    [GeneratedRegex("@[A-Z]+@")]
    private static partial Regex Placeholder();
}
